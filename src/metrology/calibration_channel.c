/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "metrology/calibration_channel.h"

#include <math.h>

#include "signal/distribution.h"

#define COVERAGE_T      0.975 /* upper end of a two-sided 95 % interval */
#define COVERAGE_NORMAL 1.959963984540054
#define CURVE_POINTS    60u
#define PLACE_STEPS     600u
#define EVEN_SHARE      0.1
#define RECTANGLE       (1.0 / 3.4641016151377544) /* standard uncertainty of a width */
#define FLAT_RATIO      0.001 /* of the largest force, how far below 0 the flat part falls */
#define EDGE_COUNTS     1.0   /* least width of the dead zone's end */
#define EDGE_SCATTER    2.0   /* the same in units of the readings' noise */
#define SLOPE_STEP      1e-3  /* of the largest force */

/* How much wider few readings make an uncertainty. */
static double get_few_ratio(size_t freedom)
{
    return sh_distribution_get_t_quantile(COVERAGE_T, (double)freedom) / COVERAGE_NORMAL;
}

/* Scatter that the readings' own noise does not explain, counts. */
static double get_misfit(const struct sh_calibration *calibration)
{
    const double scatter = calibration->scatter_counts;
    const double noise = calibration->noise_counts;
    return sqrt(fmax(0.0, scatter * scatter - noise * noise));
}

/* The scatter over what the fit itself says of it: above 1 where its noise is the larger. */
static double get_floor_ratio(const struct sh_calibration *calibration, double residual_sd)
{
    return residual_sd > 0.0 ? calibration->scatter_counts / residual_sd : 1.0;
}

static double add_all(double a, double b, double c)
{
    return hypot(hypot(a, b), c);
}

static double get_drift_u(const struct sh_calibration_channel_doubt *doubt)
{
    return fabs(doubt->zero_drift_counts) * RECTANGLE;
}

static void fill_line(const struct sh_calibration *calibration,
                      const struct sh_calibration_channel_doubt *doubt,
                      struct sh_channel *channel)
{
    const struct sh_line_fit *line = &calibration->line;
    const double slope = line->coefficient[1];
    const double few =
        get_few_ratio(line->freedom) * get_floor_ratio(calibration, line->residual_sd);
    const double fit_ratio = few * sqrt(line->covariance[1][1]) / fabs(slope);
    const double misfit_ratio =
        get_misfit(calibration) / fabs(slope * calibration->force_max_n);
    channel->zero = line->coefficient[0];
    channel->zero_u = hypot(few * sqrt(line->covariance[0][0]), get_drift_u(doubt));
    channel->scale = 1.0 / slope;
    channel->scale_u =
        fabs(channel->scale) * add_all(fit_ratio, misfit_ratio, doubt->force_u_ratio);
}

/* Forces against counts from the middle of the unloaded ones: c[0] + c[1] x + c[2] x^2. */
static enum sh_status
fit_turned(const struct sh_calibration *calibration, double origin, struct sh_line_fit *fit)
{
    double counts[SH_CALIBRATION_READINGS_MAX];
    double force_n[SH_CALIBRATION_READINGS_MAX];
    double work[SH_LINE_FIT_WORK(SH_CALIBRATION_READINGS_MAX, 2)];
    for (size_t i = 0; i < calibration->n; i++) {
        counts[i] = calibration->reading[i].counts - origin;
        force_n[i] = calibration->reading[i].force_n;
    }
    const struct sh_line_fit_points points = {
        .x = counts, .y = force_n, .n = calibration->n, .degree = 2};
    return sh_line_fit_solve(&points, work, fit);
}

static enum sh_status fill_square(const struct sh_calibration *calibration,
                                  const struct sh_calibration_channel_doubt *doubt,
                                  struct sh_channel *channel)
{
    const double origin = calibration->square.coefficient[0];
    struct sh_line_fit fit;
    enum sh_status status = fit_turned(calibration, origin, &fit);
    if (status != SH_OK) {
        return status;
    }
    const double few = get_few_ratio(fit.freedom) *
                       get_floor_ratio(calibration, calibration->square.residual_sd);
    /* where the turned parabola is 0, next to the origin */
    const double b = fit.coefficient[1];
    const double root = sqrt(fmax(0.0, b * b - 4.0 * fit.coefficient[0] * fit.coefficient[2]));
    const double x = -2.0 * fit.coefficient[0] / (b + copysign(root, b));
    const double slope = b + 2.0 * fit.coefficient[2] * x;
    const double variance = fit.covariance[1][1] + 4.0 * x * fit.covariance[1][2] +
                            4.0 * x * x * fit.covariance[2][2];
    double zero_u_n = 0.0;
    (void)sh_line_fit_get_value(&fit, x, &zero_u_n);
    channel->zero = origin + x;
    channel->zero_u = hypot(few * zero_u_n / fabs(slope), get_drift_u(doubt));
    channel->scale = slope;
    channel->scale_u =
        add_all(few * sqrt(fmax(variance, 0.0)),
                get_misfit(calibration) * slope * slope / calibration->force_max_n,
                fabs(slope) * doubt->force_u_ratio);
    channel->quadratic = fit.coefficient[2];
    channel->quadratic_u = few * sqrt(fit.covariance[2][2]);
    return SH_OK;
}

static const struct sh_response_curve *get_curve(const struct sh_calibration *calibration)
{
    return calibration->law == SH_CALIBRATION_POWER ? &calibration->power
                                                    : &calibration->saturating;
}

/* Standard uncertainty of a force read from a curve. */
static double get_point_u(const struct sh_calibration *calibration,
                          const struct sh_calibration_channel_doubt *doubt,
                          double force_n)
{
    const struct sh_response_curve *curve = get_curve(calibration);
    const double few = get_few_ratio(curve->freedom);
    double fit_u = 0.0;
    (void)sh_response_curve_get_counts(curve, force_n, &fit_u);
    fit_u *= few * get_floor_ratio(calibration, curve->residual_sd_counts);
    const double counts_u = add_all(fit_u, calibration->scatter_counts, get_drift_u(doubt));
    const double near_n = curve->start_n + SLOPE_STEP * calibration->force_max_n;
    const double slope = fabs(sh_response_curve_get_slope(curve, fmax(force_n, near_n)));
    return add_all(counts_u / slope, force_n * doubt->force_u_ratio, 0.0);
}

static void set_point(struct sh_curve_point *point, double counts, double value, double u)
{
    *point = (struct sh_curve_point){counts, value, u};
}

/* Turns a curve whose counts fall round, so that they rise. */
static void order_points(struct sh_channel *channel)
{
    struct sh_curve_point *curve = channel->curve;
    const size_t n = channel->n_curve;
    if (curve[0].counts < curve[n - 1].counts) {
        return;
    }
    for (size_t i = 0; i < n / 2; i++) {
        const struct sh_curve_point kept = curve[i];
        curve[i] = curve[n - 1 - i];
        curve[n - 1 - i] = kept;
    }
}

/*
 * Counts from first to last such that straight lines between them are everywhere about equally
 * far from the curve: as dense as the root of its second derivative, a tenth of them evenly.
 */
static void place_points(const struct sh_response_curve *curve,
                         double first,
                         double last,
                         double counts[CURVE_POINTS + 1])
{
    const double step = (last - first) / PLACE_STEPS;
    double weight[PLACE_STEPS];
    double total = 0.0;
    for (size_t k = 0; k < PLACE_STEPS; k++) {
        const double at = first + step * ((double)k + 0.5);
        const double bend = sh_response_curve_get_force(curve, at + 0.5 * step) -
                            2.0 * sh_response_curve_get_force(curve, at) +
                            sh_response_curve_get_force(curve, at - 0.5 * step);
        weight[k] = sqrt(fabs(bend));
        total += weight[k];
    }
    double passed = 0.0;
    size_t n = 1;
    counts[0] = first;
    for (size_t k = 0; k < PLACE_STEPS && n < CURVE_POINTS; k++) {
        const double part = (total > 0.0 ? (1.0 - EVEN_SHARE) * weight[k] / total : 0.0) +
                            EVEN_SHARE / PLACE_STEPS;
        while (n < CURVE_POINTS && passed + part >= (double)n / (double)CURVE_POINTS) {
            const double in_step = ((double)n / (double)CURVE_POINTS - passed) / part;
            counts[n++] = first + step * ((double)k + in_step);
        }
        passed += part;
    }
    while (n <= CURVE_POINTS) {
        counts[n++] = last;
    }
}

static void fill_curve(const struct sh_calibration *calibration,
                       const struct sh_calibration_channel_doubt *doubt,
                       struct sh_channel *channel)
{
    const struct sh_response_curve *curve = get_curve(calibration);
    const double max_n = calibration->force_max_n;
    const double zero = curve->zero_counts;
    const double end = sh_response_curve_get_counts(curve, max_n, NULL);
    const double sign = end > zero ? 1.0 : -1.0;
    const double asleep_u_n = curve->start_n * RECTANGLE;
    const double rest_u_n = hypot(asleep_u_n, SLOPE_STEP * max_n);
    const double edge = fmin(fmax(EDGE_COUNTS, EDGE_SCATTER * calibration->noise_counts),
                             0.5 * fabs(end - zero) / (double)CURVE_POINTS);
    double place[CURVE_POINTS + 1];
    set_point(&channel->curve[0], zero - (end - zero), -FLAT_RATIO * max_n, rest_u_n);
    set_point(&channel->curve[1], zero, 0.0, rest_u_n);
    channel->n_curve = 2;
    place_points(curve, zero + sign * edge, end, place);
    for (size_t i = 0; i <= CURVE_POINTS; i++) {
        const double force_n = sh_response_curve_get_force(curve, place[i]);
        const double u_n = get_point_u(calibration, doubt, force_n);
        if (force_n > channel->curve[channel->n_curve - 1].value) {
            set_point(&channel->curve[channel->n_curve++], place[i], force_n,
                      i == 0 ? hypot(u_n, asleep_u_n) : u_n);
        }
    }
    order_points(channel);
}

static void fill_steps(const struct sh_calibration *calibration,
                       const struct sh_calibration_channel_doubt *doubt,
                       struct sh_channel *channel)
{
    const struct sh_calibration_level *level = calibration->level;
    const double few = get_few_ratio(calibration->fit[SH_CALIBRATION_STEPS].freedom);
    const size_t n = calibration->n_steps;
    const size_t stride = 1 + (n - 1) / SH_CHANNEL_CURVE_MAX;
    channel->n_curve = 0;
    for (size_t i = 0; i < n; i += stride) {
        const size_t k = i > 0 ? i - 1 : 0;
        const double slope =
            (level[k + 1].counts - level[k].counts) / (level[k + 1].force_n - level[k].force_n);
        const double own = few * calibration->scatter_counts;
        const double u_n = hypot(own, get_drift_u(doubt)) / fabs(slope);
        set_point(&channel->curve[channel->n_curve++], level[i].counts, level[i].force_n,
                  hypot(u_n, level[i].force_n * doubt->force_u_ratio));
    }
    order_points(channel);
}

enum sh_status sh_calibration_channel_fill(const struct sh_calibration *calibration,
                                           const struct sh_calibration_channel_doubt *doubt,
                                           struct sh_channel *channel)
{
    struct sh_channel filled = *channel;
    if (calibration->fit[calibration->law].freedom == 0) {
        return SH_ERR_SINGULAR;
    }
    filled.n_curve = 0;
    filled.scale = 1.0;
    filled.scale_u = 0.0;
    filled.zero = 0.0;
    filled.zero_u = 0.0;
    filled.quadratic = 0.0;
    filled.quadratic_u = 0.0;
    enum sh_status status = SH_OK;
    switch (calibration->law) {
    case SH_CALIBRATION_SQUARE:
        status = fill_square(calibration, doubt, &filled);
        break;
    case SH_CALIBRATION_POWER:
    case SH_CALIBRATION_SATURATING:
        fill_curve(calibration, doubt, &filled);
        break;
    case SH_CALIBRATION_STEPS:
        fill_steps(calibration, doubt, &filled);
        break;
    case SH_CALIBRATION_LINE:
    case SH_CALIBRATION_LAWS:
        fill_line(calibration, doubt, &filled);
        break;
    }
    if (status == SH_OK) {
        *channel = filled;
    }
    return status;
}
