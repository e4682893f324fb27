/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "metrology/calibration.h"

#include <math.h>
#include <stdio.h>

#include "signal/distribution.h"

#define READINGS_MAX    SH_CALIBRATION_READINGS_MAX
#define DEAD_P          0.01  /* above it a slope may be the noise of a dead channel */
#define STEPS_LACK_P    0.001 /* below it the chosen law misses what was seen twice */
#define BELOW_RATIO     (-0.1)
#define ABOVE_RATIO     1.5
#define LINE_TERMS      2u
#define SQUARE_TERMS    3u
#define VARIANCE_TERM   1u /* the residual variance counts as a term in Akaike's criterion */
#define RELATIVE_DIGITS 1e-12
#define RESIDUAL_DIGITS 1e-9 /* of the whole travel of the counts: below it is rounding */

const char *sh_calibration_law_name(enum sh_calibration_law law)
{
    static const char *const names[SH_CALIBRATION_LAWS] = {
        [SH_CALIBRATION_LINE] = "straight line",
        [SH_CALIBRATION_SQUARE] = "line with a square term",
        [SH_CALIBRATION_POWER] = "power law with a dead zone",
        [SH_CALIBRATION_SATURATING] = "saturating curve with a dead zone",
        [SH_CALIBRATION_STEPS] = "line that bends from level to level",
    };
    return names[law];
}

static enum sh_status
check_reading(const struct sh_calibration_reading *reading, size_t i, struct sh_error *err)
{
    char where[64];
    const double all = reading->force_n + reading->counts + reading->noise_counts;
    (void)snprintf(where, sizeof where, "reading %zu", i + 1);
    if (!isfinite(all) || !isfinite(reading->n_samples)) {
        return sh_error_set(err, SH_ERR_NOT_FINITE, where, "take it again",
                            "a number is infinite or none");
    }
    if (reading->force_n < 0.0 || reading->noise_counts < 0.0 || reading->n_samples < 1.0) {
        return sh_error_set(err, SH_ERR_ARGUMENT, where, "give forces and noise from 0 on",
                            "force, noise or number of samples is out of range");
    }
    return SH_OK;
}

static void sort_levels(struct sh_calibration_level *level, size_t n)
{
    for (size_t i = 1; i < n; i++) {
        const struct sh_calibration_level moved = level[i];
        size_t k = i;
        while (k > 0 && level[k - 1].force_n > moved.force_n) {
            level[k] = level[k - 1];
            k--;
        }
        level[k] = moved;
    }
}

/* The level of a reading's force, to a rounding error; n_steps where there is none yet. */
static size_t find_level(const struct sh_calibration *calibration,
                         const struct sh_calibration_reading *reading)
{
    const double rounding_n = RELATIVE_DIGITS * calibration->force_max_n;
    size_t k = 0;
    while (k < calibration->n_steps &&
           fabs(calibration->level[k].force_n - reading->force_n) > rounding_n) {
        k++;
    }
    return k;
}

/* Readings of the same force, to a rounding error, become one level with their mean. */
static void find_levels(struct sh_calibration *calibration)
{
    for (size_t i = 0; i < calibration->n; i++) {
        const struct sh_calibration_reading *reading = &calibration->reading[i];
        const size_t k = find_level(calibration, reading);
        struct sh_calibration_level *level = &calibration->level[k];
        if (k == calibration->n_steps) {
            *level = (struct sh_calibration_level){.force_n = reading->force_n};
            calibration->n_steps++;
        }
        level->n++;
        level->counts += (reading->counts - level->counts) / (double)level->n;
    }
    sort_levels(calibration->level, calibration->n_steps);
}

/* Different forces besides none, those nearly alike counted once. */
static enum sh_status check_levels(struct sh_calibration *calibration, struct sh_error *err)
{
    const double near_n = SH_CALIBRATION_LEVEL_RATIO * calibration->force_max_n;
    double last_n = 0.0;
    double lowest_n = 0.0;
    for (size_t i = 0; i < calibration->n_steps; i++) {
        const double force_n = calibration->level[i].force_n;
        if (force_n > 0.0 && (calibration->n_levels == 0 || force_n - last_n > near_n)) {
            lowest_n = calibration->n_levels == 0 ? force_n : lowest_n;
            calibration->n_levels++;
            last_n = force_n;
        }
    }
    if (calibration->n_levels < SH_CALIBRATION_LEVELS_MIN) {
        return sh_error_set(err, SH_ERR_SHORT, NULL,
                            "hang at least 3 masses that differ: with fewer, a bent sensor "
                            "looks straight",
                            "%zu different masses besides none are too few (nearer than 2 %% "
                            "of the largest counts as one)",
                            calibration->n_levels);
    }
    if (lowest_n > SH_CALIBRATION_SPAN_RATIO * calibration->force_max_n) {
        return sh_error_set(err, SH_ERR_SINGULAR, NULL,
                            "hang some from a third of the largest on",
                            "the masses are too much alike: the smallest is %.0f %% of the "
                            "largest",
                            100.0 * lowest_n / calibration->force_max_n);
    }
    return SH_OK;
}

/* Squares of the readings about the means of their forces. */
static double get_pure_squares(const struct sh_calibration *calibration)
{
    double pure = 0.0;
    for (size_t i = 0; i < calibration->n; i++) {
        const struct sh_calibration_reading *reading = &calibration->reading[i];
        const double rest =
            reading->counts - calibration->level[find_level(calibration, reading)].counts;
        pure += rest * rest;
    }
    return pure;
}

static struct sh_line_fit_test
make_test(double squares1, double freedom1, double squares2, double freedom2)
{
    struct sh_line_fit_test test = {.freedom1 = (size_t)freedom1, .freedom2 = (size_t)freedom2};
    test.f = fmax(0.0, (squares1 / freedom1) / (squares2 / freedom2));
    test.p = isfinite(test.f) ? sh_distribution_get_f_upper(test.f, freedom1, freedom2) : 0.0;
    return test;
}

/* Akaike's criterion, the F tests against the line and of the lack of fit. */
static void judge(struct sh_calibration *calibration,
                  enum sh_calibration_law law,
                  size_t n_terms,
                  double pure_squares)
{
    struct sh_calibration_fit *fit = &calibration->fit[law];
    const struct sh_calibration_fit *line = &calibration->fit[SH_CALIBRATION_LINE];
    const double n = (double)calibration->n;
    const double k = (double)(n_terms + VARIANCE_TERM);
    const double travel = calibration->line.coefficient[1] * calibration->force_max_n;
    const double rounding = RESIDUAL_DIGITS * travel;
    fit->residual_squares = fmax(fit->residual_squares, n * rounding * rounding);
    fit->is_fitted = true;
    fit->freedom = calibration->n - n_terms;
    fit->aic = n - k - 1.0 > 0.0 ? n * log(fit->residual_squares / n) + 2.0 * k +
                                       2.0 * k * (k + 1.0) / (n - k - 1.0)
                                 : (double)INFINITY;
    if (law != SH_CALIBRATION_LINE && fit->freedom > 0) {
        fit->has_test = true;
        fit->test = make_test(line->residual_squares - fit->residual_squares,
                              (double)(line->freedom - fit->freedom), fit->residual_squares,
                              (double)fit->freedom);
    }
    if (calibration->n > calibration->n_steps && calibration->n_steps > n_terms &&
        pure_squares > 0.0) {
        fit->has_lack = true;
        fit->lack = make_test(fit->residual_squares - pure_squares,
                              (double)(calibration->n_steps - n_terms), pure_squares,
                              (double)(calibration->n - calibration->n_steps));
    }
}

/* True where the polynomial goes one way over all that it may be used for. */
static bool is_one_way(const struct sh_line_fit *fit, double force_max_n)
{
    const double low =
        fit->coefficient[1] + 2.0 * fit->coefficient[2] * BELOW_RATIO * force_max_n;
    const double high =
        fit->coefficient[1] + 2.0 * fit->coefficient[2] * ABOVE_RATIO * force_max_n;
    return low * high > 0.0;
}

static enum sh_status fit_polynomial(struct sh_calibration *calibration,
                                     size_t degree,
                                     struct sh_line_fit *fit,
                                     double pure_squares)
{
    double force_n[READINGS_MAX];
    double counts[READINGS_MAX];
    double work[SH_LINE_FIT_WORK(READINGS_MAX, 2)];
    for (size_t i = 0; i < calibration->n; i++) {
        force_n[i] = calibration->reading[i].force_n;
        counts[i] = calibration->reading[i].counts;
    }
    const struct sh_line_fit_points points = {
        .x = force_n, .y = counts, .n = calibration->n, .degree = degree};
    enum sh_status status = sh_line_fit_solve(&points, work, fit);
    const enum sh_calibration_law law =
        degree == 1 ? SH_CALIBRATION_LINE : SH_CALIBRATION_SQUARE;
    if (status == SH_OK && is_one_way(fit, calibration->force_max_n)) {
        calibration->fit[law].residual_squares = fit->residual_squares;
        judge(calibration, law, degree + 1, pure_squares);
    }
    return status;
}

static void fit_curve(struct sh_calibration *calibration,
                      enum sh_response_curve_kind kind,
                      struct sh_response_curve *curve,
                      double pure_squares)
{
    double force_n[READINGS_MAX];
    double counts[READINGS_MAX];
    for (size_t i = 0; i < calibration->n; i++) {
        force_n[i] = calibration->reading[i].force_n;
        counts[i] = calibration->reading[i].counts;
    }
    if (sh_response_curve_solve(kind, force_n, counts, calibration->n, curve) != SH_OK) {
        return; /* the readings do not show such a curve */
    }
    const enum sh_calibration_law law =
        kind == SH_RESPONSE_CURVE_POWER ? SH_CALIBRATION_POWER : SH_CALIBRATION_SATURATING;
    calibration->fit[law].residual_squares = curve->residual_squares;
    judge(calibration, law, SH_RESPONSE_CURVE_TERMS, pure_squares);
}

/* Pools neighbours whose counts go against the direction of the line. */
static void pool_levels(struct sh_calibration *calibration)
{
    struct sh_calibration_level *level = calibration->level;
    const double sign = calibration->line.coefficient[1] > 0.0 ? 1.0 : -1.0;
    size_t n = 0;
    for (size_t i = 0; i < calibration->n_steps; i++) {
        level[n++] = level[i];
        while (n > 1 && sign * (level[n - 1].counts - level[n - 2].counts) <= 0.0) {
            const double total = (double)(level[n - 2].n + level[n - 1].n);
            const double part = (double)level[n - 1].n / total;
            level[n - 2].force_n += part * (level[n - 1].force_n - level[n - 2].force_n);
            level[n - 2].counts += part * (level[n - 1].counts - level[n - 2].counts);
            level[n - 2].n += level[n - 1].n;
            n--;
        }
    }
    calibration->n_steps = n;
}

static double get_step_counts(const struct sh_calibration *calibration, double force_n)
{
    const struct sh_calibration_level *level = calibration->level;
    size_t i = 0;
    while (i + 2 < calibration->n_steps && force_n > level[i + 1].force_n) {
        i++;
    }
    const double slope =
        (level[i + 1].counts - level[i].counts) / (level[i + 1].force_n - level[i].force_n);
    return level[i].counts + (force_n - level[i].force_n) * slope;
}

static void fit_steps(struct sh_calibration *calibration)
{
    struct sh_calibration_fit *fit = &calibration->fit[SH_CALIBRATION_STEPS];
    pool_levels(calibration);
    if (calibration->n_steps < SH_CALIBRATION_LEVELS_MIN + 1u ||
        calibration->n <= calibration->n_steps) {
        return;
    }
    for (size_t i = 0; i < calibration->n; i++) {
        const struct sh_calibration_reading *reading = &calibration->reading[i];
        const double rest = reading->counts - get_step_counts(calibration, reading->force_n);
        fit->residual_squares += rest * rest;
    }
    judge(calibration, SH_CALIBRATION_STEPS, calibration->n_steps, 0.0);
}

/* True where law takes the place of best. */
static bool is_better(const struct sh_calibration *calibration,
                      enum sh_calibration_law law,
                      enum sh_calibration_law best)
{
    const struct sh_calibration_fit *fit = &calibration->fit[law];
    const bool is_curve = law >= SH_CALIBRATION_POWER && best < SH_CALIBRATION_POWER;
    const double margin = is_curve ? SH_CALIBRATION_AIC_MARGIN : 0.0;
    return fit->is_fitted && fit->has_test && fit->test.p < SH_CALIBRATION_LEVEL_P &&
           fit->aic < calibration->fit[best].aic - margin;
}

static void choose(struct sh_calibration *calibration)
{
    enum sh_calibration_law best = SH_CALIBRATION_LINE;
    if (calibration->fit[SH_CALIBRATION_SQUARE].is_fitted &&
        calibration->fit[SH_CALIBRATION_SQUARE].has_test &&
        calibration->fit[SH_CALIBRATION_SQUARE].test.p < SH_CALIBRATION_LEVEL_P) {
        best = SH_CALIBRATION_SQUARE;
    }
    for (int law = SH_CALIBRATION_POWER; law <= SH_CALIBRATION_SATURATING; law++) {
        best = is_better(calibration, (enum sh_calibration_law)law, best)
                   ? (enum sh_calibration_law)law
                   : best;
    }
    const struct sh_calibration_fit *chosen = &calibration->fit[best];
    const struct sh_calibration_fit *steps = &calibration->fit[SH_CALIBRATION_STEPS];
    if (steps->is_fitted && chosen->has_lack && chosen->lack.p < STEPS_LACK_P &&
        steps->freedom > 0 && steps->residual_squares < chosen->residual_squares) {
        best = SH_CALIBRATION_STEPS;
    }
    calibration->law = best;
}

static void find_scatter(struct sh_calibration *calibration)
{
    const struct sh_calibration_fit *fit = &calibration->fit[calibration->law];
    double squares = 0.0;
    for (size_t i = 0; i < calibration->n; i++) {
        const struct sh_calibration_reading *reading = &calibration->reading[i];
        squares += reading->noise_counts * reading->noise_counts / reading->n_samples;
    }
    calibration->noise_counts = sqrt(squares / (double)calibration->n);
    calibration->scatter_counts = calibration->noise_counts;
    if (fit->freedom > 0) {
        calibration->scatter_counts =
            fmax(calibration->noise_counts, sqrt(fit->residual_squares / (double)fit->freedom));
    }
}

static enum sh_status check_slope(const struct sh_calibration *calibration,
                                  struct sh_error *err)
{
    const struct sh_line_fit *line = &calibration->line;
    const double t = line->coefficient[1] / sqrt(line->covariance[1][1]);
    if (sh_distribution_get_t_two_sided(t, (double)line->freedom) < DEAD_P) {
        return SH_OK;
    }
    return sh_error_set(err, SH_ERR_SINGULAR, NULL,
                        "check the cable, the column and that the masses hang free",
                        "the counts do not follow the masses");
}

static enum sh_status copy_readings(const struct sh_calibration_reading *readings,
                                    size_t n,
                                    struct sh_calibration *calibration,
                                    struct sh_error *err)
{
    if (n == 0 || n > READINGS_MAX) {
        return sh_error_set(err, SH_ERR_ARGUMENT, NULL, "take 1 to 256 readings",
                            "%zu readings cannot be used", n);
    }
    for (size_t i = 0; i < n; i++) {
        enum sh_status status = check_reading(&readings[i], i, err);
        if (status != SH_OK) {
            return status;
        }
        calibration->reading[i] = readings[i];
        calibration->force_max_n = fmax(calibration->force_max_n, readings[i].force_n);
    }
    calibration->n = n;
    return SH_OK;
}

enum sh_status sh_calibration_solve(const struct sh_calibration_reading *readings,
                                    size_t n,
                                    struct sh_calibration *out,
                                    struct sh_error *err)
{
    *out = (struct sh_calibration){0};
    enum sh_status status = copy_readings(readings, n, out, err);
    if (status != SH_OK) {
        return status;
    }
    find_levels(out);
    status = check_levels(out, err);
    if (status != SH_OK) {
        return status;
    }
    const double pure_squares = get_pure_squares(out);
    status = fit_polynomial(out, 1, &out->line, pure_squares);
    if (status != SH_OK) {
        return sh_error_set(err, status, NULL, NULL,
                            "no line can be laid through the readings");
    }
    status = check_slope(out, err);
    if (status != SH_OK) {
        return status;
    }
    (void)fit_polynomial(out, 2, &out->square, pure_squares);
    fit_curve(out, SH_RESPONSE_CURVE_POWER, &out->power, pure_squares);
    fit_curve(out, SH_RESPONSE_CURVE_SATURATING, &out->saturating, pure_squares);
    fit_steps(out);
    choose(out);
    find_scatter(out);
    return SH_OK;
}

double sh_calibration_get_counts(const struct sh_calibration *calibration, double force_n)
{
    switch (calibration->law) {
    case SH_CALIBRATION_SQUARE:
        return sh_line_fit_get_value(&calibration->square, force_n, NULL);
    case SH_CALIBRATION_POWER:
        return sh_response_curve_get_counts(&calibration->power, force_n, NULL);
    case SH_CALIBRATION_SATURATING:
        return sh_response_curve_get_counts(&calibration->saturating, force_n, NULL);
    case SH_CALIBRATION_STEPS:
        return get_step_counts(calibration, force_n);
    case SH_CALIBRATION_LINE:
    case SH_CALIBRATION_LAWS:
        break;
    }
    return sh_line_fit_get_value(&calibration->line, force_n, NULL);
}

/* Force at a count by bisection; outside the range of the law its end. */
static double search_force(const struct sh_calibration *calibration, double counts)
{
    double low_n = 0.0;
    double high_n = ABOVE_RATIO * calibration->force_max_n;
    const bool is_rising = calibration->line.coefficient[1] > 0.0;
    for (int i = 0; i < 100; i++) {
        const double middle_n = 0.5 * (low_n + high_n);
        const double got = sh_calibration_get_counts(calibration, middle_n);
        if (is_rising ? got < counts : got > counts) {
            low_n = middle_n;
        } else {
            high_n = middle_n;
        }
    }
    return 0.5 * (low_n + high_n);
}

enum sh_status sh_calibration_find_force(const struct sh_calibration *calibration,
                                         double counts,
                                         double level,
                                         struct sh_line_fit_inverse *out)
{
    if (calibration->law == SH_CALIBRATION_LINE) {
        return sh_line_fit_find_x(&calibration->line, counts, level, out);
    }
    if (calibration->law == SH_CALIBRATION_SQUARE) {
        return sh_line_fit_find_x(&calibration->square, counts, level, out);
    }
    if (!(level > 0.0 && level < 1.0)) {
        return SH_ERR_ARGUMENT;
    }
    if (!isfinite(counts)) {
        return SH_ERR_NOT_FINITE;
    }
    const struct sh_calibration_fit *fit = &calibration->fit[calibration->law];
    const double t = sh_distribution_get_t_quantile(0.5 * (1.0 + level), (double)fit->freedom);
    const double half = calibration->line.coefficient[1] > 0.0 ? t : -t;
    out->x = search_force(calibration, counts);
    out->lo = search_force(calibration, counts - half * calibration->scatter_counts);
    out->hi = search_force(calibration, counts + half * calibration->scatter_counts);
    return SH_OK;
}
