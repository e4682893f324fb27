/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "metrology/force_draw.h"

#include <math.h>

#include "signal/distribution.h"
#include "signal/line_fit.h"

#define ROWS_MAX        SH_FORCE_DRAW_ROWS_MAX
#define NEAR_MIN        6u
#define NEAR_RATIO      0.4
#define NEEDED_P        0.05
#define SQRT_3          1.7320508075688772
#define COVERAGE_T      0.975
#define COVERAGE_NORMAL 1.959963984540054

static enum sh_status
check(const struct sh_force_draw_row *rows, size_t n, const struct sh_force_draw_config *config)
{
    if (n < SH_FORCE_DRAW_ROWS_MIN) {
        return SH_ERR_SHORT;
    }
    if (n > ROWS_MAX) {
        return SH_ERR_ARGUMENT;
    }
    for (size_t i = 0; i < n; i++) {
        if (!isfinite(rows[i].draw_m) || !isfinite(rows[i].force_n)) {
            return SH_ERR_NOT_FINITE;
        }
        if (rows[i].force_n < 0.0 || (i > 0 && rows[i].draw_m <= rows[i - 1].draw_m)) {
            return SH_ERR_ARGUMENT;
        }
    }
    if (!isfinite(config->at_m) || !(config->draw_u_m >= 0.0) ||
        !(config->force_ratio >= 0.0 && config->force_ratio < 1.0)) {
        return SH_ERR_ARGUMENT;
    }
    const double middle_m = 0.5 * (rows[0].draw_m + rows[n - 1].draw_m);
    const double step_m = rows[n - 1].draw_m - rows[n - 2].draw_m;
    const bool is_inside =
        config->at_m >= middle_m && config->at_m <= rows[n - 1].draw_m + step_m;
    return is_inside ? SH_OK : SH_ERR_NOT_FOUND;
}

/* The rows near full draw, draws counted from there; returns how many. */
static size_t find_near(const struct sh_force_draw_row *rows,
                        size_t n,
                        double at_m,
                        double *draw_m,
                        double *force_n)
{
    const double from_m = at_m - NEAR_RATIO * (at_m - rows[0].draw_m);
    size_t first = n;
    while (first > 0 && (rows[first - 1].draw_m >= from_m || n - first < NEAR_MIN)) {
        first--;
    }
    for (size_t i = first; i < n; i++) {
        draw_m[i - first] = rows[i].draw_m - at_m;
        force_n[i - first] = rows[i].force_n;
    }
    return n - first;
}

static bool is_needed(const struct sh_line_fit *shorter, const struct sh_line_fit *longer)
{
    struct sh_line_fit_test test = {0};
    return sh_line_fit_test_terms(shorter, longer, &test) == SH_OK && test.p < NEEDED_P;
}

/* The parabola, or the cubic where the rows ask for it; else what the cubic's slope is off. */
static enum sh_status fit_near(const double *draw_m,
                               const double *force_n,
                               struct sh_force_draw *out,
                               struct sh_line_fit *fit,
                               double *model_n_per_m)
{
    double work[SH_LINE_FIT_WORK(ROWS_MAX, 3)];
    struct sh_line_fit_points points = {
        .x = draw_m, .y = force_n, .n = out->n_near, .degree = 1};
    struct sh_line_fit line;
    struct sh_line_fit cubic;
    enum sh_status status = sh_line_fit_solve(&points, work, &line);
    points.degree = 2;
    status = status == SH_OK ? sh_line_fit_solve(&points, work, fit) : status;
    points.degree = 3;
    status = status == SH_OK ? sh_line_fit_solve(&points, work, &cubic) : status;
    if (status == SH_OK) {
        out->is_bent = is_needed(&line, fit);
        *model_n_per_m = fabs(cubic.coefficient[1] - fit->coefficient[1]) / SQRT_3;
        if (is_needed(fit, &cubic)) {
            *fit = cubic;
            *model_n_per_m = 0.0;
        }
    }
    return status;
}

/* Area below the rows up to at_m, where the force is end_n; every stride-th row. */
static double
get_area(const struct sh_force_draw_row *rows, size_t n, size_t stride, const double end[2])
{
    double area = 0.0;
    double draw_m = rows[0].draw_m;
    double force_n = rows[0].force_n;
    for (size_t i = stride; i < n && rows[i].draw_m < end[0]; i += stride) {
        area += 0.5 * (rows[i].force_n + force_n) * (rows[i].draw_m - draw_m);
        draw_m = rows[i].draw_m;
        force_n = rows[i].force_n;
    }
    return area + 0.5 * (end[1] + force_n) * (end[0] - draw_m);
}

static void find_energy(const struct sh_force_draw_row *rows,
                        size_t n,
                        const struct sh_force_draw_config *config,
                        double scatter_n,
                        struct sh_force_draw *out)
{
    const double end[2] = {config->at_m, out->weight_n.value};
    const double energy_j = get_area(rows, n, 1, end);
    const double rule_j = 0.5 * fabs(energy_j - get_area(rows, n, 2, end));
    const double travel_m = config->at_m - rows[0].draw_m;
    const double scatter_j = scatter_n * travel_m / sqrt((double)n);
    const double end_j = out->weight_n.value * config->draw_u_m;
    const double common_j = energy_j * config->force_ratio;
    out->energy_j =
        sh_quantity_known(energy_j, hypot(hypot(rule_j, scatter_j), hypot(end_j, common_j)));
}

enum sh_status sh_force_draw_solve(const struct sh_force_draw_row *rows,
                                   size_t n,
                                   const struct sh_force_draw_config *config,
                                   struct sh_force_draw *out)
{
    double draw_m[ROWS_MAX];
    double force_n[ROWS_MAX];
    struct sh_line_fit fit;
    struct sh_force_draw got = {0};
    enum sh_status status = check(rows, n, config);
    if (status != SH_OK) {
        return status;
    }
    got.n_near = find_near(rows, n, config->at_m, draw_m, force_n);
    double model_n_per_m = 0.0;
    status = fit_near(draw_m, force_n, &got, &fit, &model_n_per_m);
    if (status != SH_OK) {
        return status;
    }
    const double slope = fit.coefficient[1];
    if (!(slope > 0.0)) {
        return SH_ERR_SINGULAR;
    }
    const double few =
        sh_distribution_get_t_quantile(COVERAGE_T, (double)fit.freedom) / COVERAGE_NORMAL;
    const double slope_u = hypot(
        hypot(few * sqrt(fit.covariance[1][1]), slope * config->force_ratio), model_n_per_m);
    const double weight_u =
        hypot(hypot(few * sqrt(fit.covariance[0][0]), slope * config->draw_u_m),
              fit.coefficient[0] * config->force_ratio);
    got.weight_n = sh_quantity_known(fit.coefficient[0], weight_u);
    got.stiffness_n_per_m =
        sh_quantity_known(slope, hypot(slope_u, 2.0 * fit.coefficient[2] * config->draw_u_m));
    got.residual_sd_n = fit.residual_sd;
    const double scatter_n = hypot(fit.residual_sd, slope * config->draw_u_m);
    find_energy(rows, n, config, scatter_n, &got);
    *out = got;
    return SH_OK;
}
