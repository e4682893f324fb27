/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_TESTS_BENCH_COVERAGE_EVENING_H
#define SH_TESTS_BENCH_COVERAGE_EVENING_H

#include "app/simulation.h"
#include "finding/analysis.h"

/*
 * A simulated evening, recorded into a folder below TMPDIR (or /tmp) by sensors that are off by
 * what they are uncertain by, and analysed by the passes of `analyze`; the folder is removed.
 */
struct evening_config {
    struct sh_simulation_config simulation;
    bool is_wide; /* an acceleration sensor of eight times the range: it never clips */
    /*
     * What the analysis is not told is drawn: each release's fall is half a cosine whose time
     * is bent by up to exp(0.5) either way, so that its first tenth takes 7 to 38 % of its
     * length (parabolas either way up: 5 and 32 %; a straight line: 10 %), and half of the slow
     * force sensors average over their sampling step.
     */
    bool has_any_fall;
    double curve_u_ratio; /* what the curves of sensors repeat to instead; 0: as they are */
    bool is_first_pass;   /* the first pass alone, as capture shows it */
};

struct evening {
    struct sh_simulation simulation; /* with the truth */
    struct sh_analysis analysis;
};

/* Opens *out, to be closed whatever comes back. Statuses of what it calls. */
enum sh_status
evening_open(const struct evening_config *config, struct evening *out, struct sh_error *err);
void evening_close(struct evening *evening);

/* The draw that a record is of: release or let-down within 0.5 s; false where there is none. */
bool evening_find_draw(const struct evening *evening,
                       const struct sh_shot_record *record,
                       size_t *draw);

/* The record of a draw; NULL: it was not seen. */
const struct sh_shot_record *evening_find_record(const struct evening *evening, size_t draw);

#endif
