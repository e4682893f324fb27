/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_TESTS_BENCH_COVERAGE_TRUTH_H
#define SH_TESTS_BENCH_COVERAGE_TRUTH_H

#include <stdbool.h>

#include "bench/coverage/evening.h"
#include "bench/coverage/trace.h"
#include "measure/catalog.h"
#include "signal/fft.h"
#include "signal/multitaper.h"

/*
 * The measures of a draw by their definitions (docs/definitions.md) on the noise-free signals
 * of the simulation, at the true events: what the measured ones are compared with. The force is
 * the string's, also where the sum of the fingers stands in for it.
 */
struct truth_figures {
    double value[SH_MEASURE_PLACES];
    bool is_known[SH_MEASURE_PLACES];
    double steady_rms_n; /* what the findings rest on besides */
    double first_third_n;
    double last_third_n;
    bool has_thirds;
};

/* What working out needs; opened once. */
struct truth_kit {
    struct sh_multitaper *multitaper;
    struct sh_fft *fft;
};

enum sh_status truth_kit_open(struct truth_kit *kit, struct sh_error *err);
void truth_kit_close(struct truth_kit *kit);

/* One draw, on its own clock. */
struct truth_draw {
    const struct sh_session_plan *plan;
    const struct sh_session_draw *draw;
    const struct sh_truth *truth;
    double draw_start_s;
    double full_draw_s;
    double release_s; /* of a let-down where it began to give */
    bool has_click;   /* and the analysis saw it */
    double click_s;   /* of the sensor that the analysis took it from */
    double c_s;
};

/*
 * Works out what is true of a draw; of a let-down only what needs no release. sensor: from
 * which channel the analysis has the clicker, SH_CLICKER_NONE where it has none. SH_ERR_MEMORY.
 */
enum sh_status truth_find(struct truth_kit *kit,
                          const struct evening *evening,
                          size_t draw,
                          enum sh_clicker_sensor sensor,
                          struct truth_figures *out);

/* The families, each in a file of its own. */
enum sh_status
truth_find_force(struct truth_kit *kit, const struct truth_draw *at, struct truth_figures *out);
enum sh_status
truth_find_bow(struct truth_kit *kit, const struct truth_draw *at, struct truth_figures *out);
enum sh_status truth_find_fingers(const struct truth_draw *at, struct truth_figures *out);

/* Sets one part of a measure. */
void truth_set(struct truth_figures *out, size_t place, double value);

/* Spectrum of a signal at 200 Hz between two times, the line removed; added to power where that
 * is not NULL ([psd->n_bins]). false: too short. */
bool truth_run_spectrum(struct truth_kit *kit,
                        const struct signal *signal,
                        double from_s,
                        double until_s,
                        struct sh_psd *psd);

/* Tremor's figures out of a spectrum: rms, peak and bands from first on. */
void truth_set_tremor(const struct sh_psd *psd,
                      const size_t place[3],
                      struct truth_figures *out);

double truth_get_rms(const struct sh_psd *psd, double low_hz, double high_hz);

#endif
