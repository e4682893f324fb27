/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/calibration_words.h"

#include <math.h>

#include "report/terminal_plot.h"
#include "sensor/profile_format.h"

#define PER_CENT  100.0
#define LIMIT_95  1.96
#define PLOT_ROWS 9u
#define CHANCE_P  0.01 /* as in metrology/calibration.h */

const char *sh_calibration_words_get_cautions(void)
{
    return "Before a mass is hung:\n"
           "  - The bow lies in a padded cradle and cannot tip.\n"
           "  - Masses are lowered by hand, on a safety line of their own.\n"
           "  - Feet are clear of what could fall. Eyes are protected.\n"
           "  - A string under load is never let go; masses come off by hand, one by one.\n"
           "  - Nothing goes into the string's load path that is not rated for it.\n";
}

static void put_p(struct sh_text *text, double p)
{
    if (p < 0.0001) {
        sh_text_puts(text, "p < 0.0001");
    } else {
        sh_text_printf(text, "p = %.2g", p);
    }
}

static void put_law(const struct sh_calibration_result *result, struct sh_text *text)
{
    const struct sh_calibration *calibration = &result->calibration;
    const struct sh_calibration_fit *fit = &calibration->fit[calibration->law];
    const struct sh_calibration_fit *square = &calibration->fit[SH_CALIBRATION_SQUARE];
    sh_text_printf(text,
                   "The sensor follows a %s.\nReadings lie within %.2g N of it (SD %.2g N).\n",
                   sh_calibration_law_name(calibration->law), result->check.residual_max_n,
                   result->check.residual_sd_n);
    if (calibration->law != SH_CALIBRATION_LINE && fit->has_test) {
        sh_text_printf(text, "A straight line would not do (F = %.3g, ", fit->test.f);
        put_p(text, fit->test.p);
        sh_text_puts(text, ").\n");
    } else if (square->has_test) {
        sh_text_printf(text, "No bend that these readings could show (square term: F = %.2g, ",
                       square->test.f);
        put_p(text, square->test.p);
        sh_text_puts(text, ").\n");
    }
    if (calibration->law == SH_CALIBRATION_POWER ||
        calibration->law == SH_CALIBRATION_SATURATING) {
        const struct sh_response_curve *curve = calibration->law == SH_CALIBRATION_POWER
                                                    ? &calibration->power
                                                    : &calibration->saturating;
        sh_text_printf(
            text,
            "It wakes at %.2g N: a force below that is not seen. Between 0 and it the\n"
            "reading says no more than that.\n",
            curve->start_n);
    }
    if (fit->has_lack && fit->lack.p < CHANCE_P) {
        sh_text_printf(text,
                       "The readings still show what this law misses (lack of fit F = %.3g, ",
                       fit->lack.f);
        put_p(text, fit->lack.p);
        sh_text_puts(text, "):\nits size is in the uncertainty.\n");
    }
}

static void put_zero(const struct sh_calibration_zero_drift *zero, struct sh_text *text)
{
    if (!zero->is_known) {
        sh_text_puts(text, "Zero was not read before and after: its drift is unknown.\n");
    } else if (zero->is_real) {
        sh_text_printf(text,
                       "Zero moved by %+.2g N (%+.2g %% of the largest force) meanwhile, more "
                       "than\nits noise.\n",
                       zero->force_n, PER_CENT * zero->ratio);
    } else {
        sh_text_printf(text, "Zero stayed within its noise (%+.2g N).\n", zero->force_n);
    }
}

static void put_hysteresis(const struct sh_calibration_hysteresis *found, struct sh_text *text)
{
    if (!found->is_known) {
        sh_text_puts(text, "No mass was read both ways: hysteresis is unknown.\n");
    } else if (found->is_real) {
        sh_text_printf(
            text,
            "Coming down it reads %+.2g N against going up, at %.4g N (%.2g %% of the\n"
            "largest): hysteresis.\n",
            found->difference_n, found->force_n, PER_CENT * fabs(found->ratio));
    } else {
        sh_text_printf(text, "Up and down agree within their noise (%+.2g N at most).\n",
                       found->difference_n);
    }
}

static void put_drift(const struct sh_calibration_result *result, struct sh_text *text)
{
    const struct sh_load_drift *drift = &result->drift;
    if (!result->has_steady) {
        sh_text_puts(text, "No steady load was recorded: load drift is unknown.\n");
    } else if (drift->is_real) {
        sh_text_printf(text,
                       "Under a steady load it drifts by %+.2g +-%.1g %% within %.2g +-%.1g s: "
                       "taken off\nfrom now on.\n",
                       PER_CENT * drift->ratio, PER_CENT * LIMIT_95 * drift->ratio_u,
                       drift->time_s, LIMIT_95 * drift->time_u_s);
    } else {
        sh_text_puts(text, "Under a steady load no drift that this record could show.\n");
    }
}

static void put_shares(const struct sh_calibration_result *result, struct sh_text *text)
{
    const struct sh_hung_mass_force *largest = &result->largest;
    const double u_n = sh_calibration_result_get_u_n(result);
    sh_text_printf(text,
                   "At %.4g N the net force is known to +-%.2g N (95 %%, %.2g %%). The masses "
                   "share\n+-%.2g N of it, gravity +-%.2g N, the air's lift +-%.2g N.\n",
                   largest->force_n, LIMIT_95 * u_n,
                   PER_CENT * LIMIT_95 * u_n / largest->force_n, LIMIT_95 * largest->mass_u_n,
                   LIMIT_95 * largest->gravity_u_n, LIMIT_95 * largest->buoyancy_u_n);
    if (!result->is_gravity_given) {
        sh_text_puts(text,
                     "Gravity was taken as 9.80665 m/s2 for want of a place: --latitude and "
                     "--height\nmake it surer.\n");
    }
}

static void put_warnings(const struct sh_calibration_result *result, struct sh_text *text)
{
    size_t n_unsettled = 0;
    for (size_t i = 0; i < result->table.n; i++) {
        n_unsettled += result->table.row[i].is_unsettled ? 1 : 0;
    }
    if (n_unsettled > 0) {
        sh_text_printf(text, "Warning: of %zu readings %zu had not settled.\n", result->table.n,
                       n_unsettled);
    }
    if (result->check.n_clipped > 0) {
        sh_text_printf(
            text,
            "Warning: at the end of the sensor's range: %zu of %zu readings. Take smaller\n"
            "masses.\n",
            result->check.n_clipped, result->table.n);
    }
}

void sh_calibration_words_format_verdict(const struct sh_calibration_result *result,
                                         struct sh_text *text)
{
    put_law(result, text);
    put_zero(&result->check.zero_drift, text);
    put_hysteresis(&result->check.hysteresis, text);
    put_drift(result, text);
    put_shares(result, text);
    put_warnings(result, text);
}

void sh_calibration_words_draw_residuals(const struct sh_calibration_result *result,
                                         enum sh_terminal_charset charset,
                                         struct sh_text *text)
{
    double force_n[2][SH_CALIBRATION_READINGS_MAX];
    double rest_n[2][SH_CALIBRATION_READINGS_MAX];
    size_t n[2] = {0, 0};
    for (size_t i = 0; i < result->calibration.n; i++) {
        const size_t way = result->calibration.reading[i].is_down ? 1 : 0;
        force_n[way][n[way]] = result->calibration.reading[i].force_n;
        rest_n[way][n[way]++] = result->check.residual_n[i];
    }
    const struct sh_terminal_series series[2] = {
        {.x = force_n[0], .y = rest_n[0], .n = n[0], .look = SH_TERMINAL_POINTS, .letter = 'o'},
        {.x = force_n[1],
         .y = rest_n[1],
         .n = n[1],
         .look = SH_TERMINAL_POINTS,
         .letter = 'v'}};
    const struct sh_terminal_level none = {.y = 0.0};
    struct sh_terminal_plot plot = sh_terminal_plot_default();
    plot.charset = charset;
    plot.n_columns = 79;
    plot.n_rows = PLOT_ROWS;
    plot.y_name = "sensor less mass (N); o going up, v coming down";
    plot.x_name = "force (N)";
    plot.series = series;
    plot.n_series = 2;
    plot.levels = &none;
    plot.n_levels = 1;
    enum sh_status status = sh_terminal_plot_draw(&plot, text);
    if (status != SH_OK && text->status == SH_OK) {
        text->status = status;
    }
}

void sh_calibration_words_format_table(const struct sh_calibration_result *result,
                                       struct sh_text *text)
{
    sh_text_printf(text, "%3s %10s %10s %12s %9s %8s %5s %10s\n", "n", "mass (kg)", "force (N)",
                   "counts", "noise", "samples", "way", "rest (N)");
    for (size_t i = 0; i < result->table.n; i++) {
        const struct sh_reading_table_row *row = &result->table.row[i];
        sh_text_printf(text, "%3zu %10.4f %10.3f %12.2f %9.2f %8.0f %5s %+10.3f%s\n", i + 1,
                       row->mass_kg, result->calibration.reading[i].force_n, row->counts,
                       row->noise_counts, row->n_samples, row->is_down ? "down" : "up",
                       result->check.residual_n[i], row->is_unsettled ? " !" : "");
    }
}

void sh_calibration_words_format_keys(const struct sh_calibration_result *result,
                                      struct sh_text *text)
{
    sh_profile_format_calibration(&result->channel, text);
}
