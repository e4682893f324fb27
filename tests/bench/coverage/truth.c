/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "bench/coverage/truth.h"

#include <math.h>

#include "signal/detrend.h"

#define TREMOR_HZ   200.0
#define SPECTRUM_N  16384u
#define FFT_N       32768u
#define PEAK_LOW_HZ 4.0
#define PEAK_TOP_HZ 15.0

enum sh_status truth_kit_open(struct truth_kit *kit, struct sh_error *err)
{
    const struct sh_multitaper_config config = sh_multitaper_config_default();
    *kit = (struct truth_kit){.fft = NULL};
    enum sh_status status = sh_multitaper_open(&config, &kit->multitaper, err);
    if (status == SH_OK) {
        status = sh_fft_open(FFT_N, &kit->fft, err);
    }
    return status;
}

void truth_kit_close(struct truth_kit *kit)
{
    sh_multitaper_close(&kit->multitaper);
    sh_fft_close(&kit->fft);
}

void truth_set(struct truth_figures *out, size_t place, double value)
{
    out->value[place] = value;
    out->is_known[place] = true;
}

bool truth_run_spectrum(struct truth_kit *kit,
                        const struct signal *signal,
                        double from_s,
                        double until_s,
                        struct sh_psd *psd)
{
    static double x[SPECTRUM_N];
    const double n = floor((until_s - from_s) * TREMOR_HZ);
    if (!(n >= 64.0 && n <= SPECTRUM_N)) {
        return false;
    }
    for (size_t i = 0; i < (size_t)n; i++) {
        x[i] = signal->get(signal->context, from_s + ((double)i + 0.5) / TREMOR_HZ);
    }
    const struct sh_multitaper_window window = {.x = x, .n = (size_t)n, .rate_hz = TREMOR_HZ};
    return sh_detrend_line(x, NULL, (size_t)n, x) == SH_OK &&
           sh_multitaper_run(kit->multitaper, &window) == SH_OK &&
           sh_multitaper_get_psd(kit->multitaper, psd) == SH_OK;
}

double truth_get_rms(const struct sh_psd *psd, double low_hz, double high_hz)
{
    double power = 0.0;
    return sh_psd_get_power(psd, low_hz, high_hz, &power) == SH_OK ? sqrt(power) : (double)NAN;
}

void truth_set_tremor(const struct sh_psd *psd,
                      const size_t place[3],
                      struct truth_figures *out)
{
    static const double edge_hz[SH_PARTS_BANDS_COUNT + 1] = {2.0, 4.0, 8.0, 12.0, 25.0};
    struct sh_psd_peak peak;
    truth_set(out, place[0], truth_get_rms(psd, edge_hz[0], edge_hz[SH_PARTS_BANDS_COUNT]));
    if (sh_psd_find_peak(psd, PEAK_LOW_HZ, PEAK_TOP_HZ, &peak) == SH_OK) {
        truth_set(out, place[1], peak.frequency_hz.value);
    }
    for (size_t i = 0; i < SH_PARTS_BANDS_COUNT; i++) {
        truth_set(out, place[2] + i, truth_get_rms(psd, edge_hz[i], edge_hz[i + 1u]));
    }
}

static double get_click_s(const struct sh_truth *truth, enum sh_clicker_sensor sensor)
{
    switch (sensor) {
    case SH_CLICKER_CONTACT:
        return truth->clicker_contact_s;
    case SH_CLICKER_ACCELERATION:
        return truth->clicker_blow_s;
    case SH_CLICKER_SOUND:
        return truth->clicker_sound_s;
    case SH_CLICKER_NONE:
        break;
    }
    return 0.0;
}

static struct truth_draw
describe(const struct evening *evening, size_t i, enum sh_clicker_sensor sensor)
{
    const struct sh_session_plan *plan = evening->simulation.plan;
    const struct sh_session_draw *draw = &plan->draw[i];
    const struct sh_truth *truth = &plan->truth[i];
    struct truth_draw out = {.plan = plan, .draw = draw, .truth = truth};
    const bool is_shot = truth->kind == SH_TRUTH_SHOT;
    out.draw_start_s = truth->draw_start_s - draw->hand_s;
    out.full_draw_s = truth->full_draw_s - draw->hand_s;
    out.release_s = (is_shot ? truth->release_s : truth->let_down_s) - draw->hand_s;
    out.has_click = truth->has_clicker && sensor != SH_CLICKER_NONE;
    out.click_s = out.has_click ? get_click_s(truth, sensor) - draw->hand_s : 0.0;
    out.c_s = out.has_click ? out.click_s : out.release_s;
    return out;
}

static void find_times(const struct truth_draw *draw, struct truth_figures *out)
{
    const struct sh_truth *truth = draw->truth;
    if (truth->has_setup) {
        truth_set(out, SH_MEASURE_SETUP_TIME_FIRST, truth->setup_time_s);
    }
    if (truth->has_clock) {
        truth_set(out, SH_MEASURE_TIME_LEFT_DRAW_FIRST, truth->time_left_draw_s);
    }
    truth_set(out, SH_MEASURE_DRAW_TIME_FIRST, draw->full_draw_s - draw->draw_start_s);
    if (truth->kind != SH_TRUTH_SHOT) {
        return;
    }
    if (truth->has_clock) {
        truth_set(out, SH_MEASURE_TIME_LEFT_RELEASE_FIRST, truth->time_left_release_s);
    }
    truth_set(out, SH_MEASURE_HOLD_TIME_FIRST, truth->hold_time_s);
    if (draw->has_click) {
        truth_set(out, SH_MEASURE_EXPANSION_TIME_FIRST, draw->click_s - draw->full_draw_s);
        truth_set(out, SH_MEASURE_CLICKER_REACTION_FIRST, draw->release_s - draw->click_s);
    }
}

enum sh_status truth_find(struct truth_kit *kit,
                          const struct evening *evening,
                          size_t draw,
                          enum sh_clicker_sensor sensor,
                          struct truth_figures *out)
{
    const struct truth_draw at = describe(evening, draw, sensor);
    *out = (struct truth_figures){.has_thirds = false};
    find_times(&at, out);
    if (at.truth->kind != SH_TRUTH_SHOT) {
        return SH_OK;
    }
    enum sh_status status = truth_find_force(kit, &at, out);
    if (status == SH_OK) {
        status = truth_find_bow(kit, &at, out);
    }
    return status == SH_OK ? truth_find_fingers(&at, out) : status;
}
