/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_REPORT_TERMINAL_SHOT_H
#define SH_REPORT_TERMINAL_SHOT_H

#include "base/text.h"
#include "finding/analysis.h"
#include "report/terminal_curve.h"
#include "report/terminal_grid.h"

/*
 * One shot for a terminal, so that a person can check what the program saw: its events with
 * their uncertainty, drawings of the force over the whole draw and around the click, of
 * acceleration and fingers where there are any, its findings and its figures. Times stand on
 * the recording's clock, as a correction takes them. Test: tests/report/test_terminal_shot.c.
 */

#define SH_TERMINAL_SHOT_MEANS 64u

/* What is drawn of a shot, taken while its samples are lent. Large: keep it on the heap. */
struct sh_terminal_shot {
    double whole_s[2];                  /* the draw with its surroundings */
    double close_s[2];                  /* around click and release */
    double over_s;                      /* release or let-down, else the end of what is drawn */
    struct sh_terminal_curve force;     /* over whole_s */
    struct sh_terminal_curve finger[3]; /* index, middle, ring; from whole_s to over_s */
    double hold_s[2];                   /* full draw to over_s; NaN: full draw is not known */
    struct sh_terminal_curve hold_force;
    double mean_x[SH_TERMINAL_SHOT_MEANS]; /* 500 ms mean in the hold, as creep takes it */
    double mean_y[SH_TERMINAL_SHOT_MEANS];
    size_t n_means;
    struct sh_terminal_curve close_force;
    struct sh_terminal_curve close_acceleration;
    struct sh_terminal_curve close_contact;
    struct sh_terminal_curve close_sound;
};

/*
 * Takes the curves of a shot (its events as corrected) from its view. Cost: O(samples). Any
 * thread.
 */
void sh_terminal_shot_take(const struct sh_shot *shot,
                           const struct sh_shot_view *view,
                           struct sh_terminal_shot *out);

struct sh_terminal_shot_config {
    enum sh_terminal_charset charset; /* PLAIN: the drawings in ASCII */
    size_t n_columns;                 /* SH_TERMINAL_SHOT_COLUMNS_MIN or more */
};

#define SH_TERMINAL_SHOT_COLUMNS_MIN 40u

/*
 * Appends shot i of an analysis. The curves are cut to what is drawn, so they serve once.
 * SH_ERR_ARGUMENT: too narrow, or no such shot. SH_ERR_MEMORY; SH_ERR_FULL (text's limit).
 */
enum sh_status sh_terminal_shot_write(const struct sh_analysis *analysis,
                                      size_t i,
                                      struct sh_terminal_shot *shot,
                                      const struct sh_terminal_shot_config *config,
                                      struct sh_text *text);

#endif
