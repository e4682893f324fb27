/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "metrology/load_drift.h"

#include <math.h>

#include "signal/distribution.h"
#include "signal/finite.h"

#define POINTS_MIN  8u
#define TERMS       3u /* first value, drift, time constant */
#define GRID        60
#define SECTIONS    60
#define GOLDEN      0.6180339887498949
#define REAL_P      0.001
#define LIMIT_U     1.96
#define STEP_RATIO  1e-4
#define LENGTHS_MAX 3.0 /* of the record: a longer time constant looks like a straight line */

struct record {
    const double *time_s;
    const double *value;
    size_t n;
};

struct line {
    double first; /* at the load's start */
    double drift; /* in the end */
    double squares;
};

static double get_part(double time_s, double constant_s)
{
    return -expm1(-time_s / constant_s);
}

static struct line fit_line(const struct record *record, double constant_s)
{
    double mean_part = 0.0;
    double mean_value = 0.0;
    for (size_t i = 0; i < record->n; i++) {
        mean_part += get_part(record->time_s[i], constant_s) / (double)record->n;
        mean_value += record->value[i] / (double)record->n;
    }
    double square = 0.0;
    double product = 0.0;
    for (size_t i = 0; i < record->n; i++) {
        const double part = get_part(record->time_s[i], constant_s) - mean_part;
        square += part * part;
        product += part * (record->value[i] - mean_value);
    }
    struct line line = {.drift = square > 0.0 ? product / square : 0.0};
    line.first = mean_value - line.drift * mean_part;
    for (size_t i = 0; i < record->n; i++) {
        const double rest = record->value[i] - line.first -
                            line.drift * get_part(record->time_s[i], constant_s);
        line.squares += rest * rest;
    }
    return line;
}

static double find_constant(const struct record *record)
{
    const double length_s = record->time_s[record->n - 1] - record->time_s[0];
    const double low = log(0.5 * length_s / (double)record->n);
    const double high = log(LENGTHS_MAX * length_s);
    const double width = (high - low) / GRID;
    double best = low;
    double best_squares = (double)INFINITY;
    for (int i = 0; i <= GRID; i++) {
        const double at = low + width * i;
        const double squares = fit_line(record, exp(at)).squares;
        if (squares < best_squares) {
            best = at;
            best_squares = squares;
        }
    }
    double a = fmax(low, best - width);
    double b = fmin(high, best + width);
    for (int i = 0; i < SECTIONS; i++) {
        const double c = b - GOLDEN * (b - a);
        const double d = a + GOLDEN * (b - a);
        if (fit_line(record, exp(c)).squares < fit_line(record, exp(d)).squares) {
            b = d;
        } else {
            a = c;
        }
    }
    return exp(0.5 * (a + b));
}

static void solve_3(const double m[3][3], double inverse[3][3])
{
    double determinant = 0.0;
    for (size_t i = 0; i < 3; i++) {
        for (size_t k = 0; k < 3; k++) {
            const size_t a = (k + 1) % 3;
            const size_t b = (k + 2) % 3;
            const size_t c = (i + 1) % 3;
            const size_t d = (i + 2) % 3;
            inverse[i][k] = m[a][c] * m[b][d] - m[a][d] * m[b][c];
        }
        determinant += m[0][i] * inverse[i][0];
    }
    for (size_t i = 0; i < 3; i++) {
        for (size_t k = 0; k < 3; k++) {
            inverse[i][k] /= determinant;
        }
    }
}

static void add_row(const double row[3], double normal[3][3])
{
    for (size_t a = 0; a < 3; a++) {
        for (size_t b = 0; b < 3; b++) {
            normal[a][b] += row[a] * row[b];
        }
    }
}

/* Uncertainties from the Jacobian by first, ratio and time (relative to them). */
static void find_uncertainties(const struct record *record,
                               const struct line *line,
                               struct sh_load_drift *out)
{
    double normal[3][3] = {{0}};
    double inverse[3][3];
    const double step_s = STEP_RATIO * out->time_s;
    for (size_t i = 0; i < record->n; i++) {
        const double t_s = record->time_s[i];
        const double by_time =
            line->drift *
            (get_part(t_s, out->time_s + step_s) - get_part(t_s, out->time_s - step_s)) /
            (2.0 * STEP_RATIO);
        const double row[3] = {1.0 + out->ratio * get_part(t_s, out->time_s),
                               line->first * get_part(t_s, out->time_s), by_time};
        add_row(row, normal);
    }
    solve_3((const double(*)[3])normal, inverse);
    out->ratio_u = out->residual_sd * sqrt(fabs(inverse[1][1]));
    out->time_u_s = out->residual_sd * out->time_s * sqrt(fabs(inverse[2][2]));
}

static enum sh_status check(const struct record *record)
{
    if (record->n < POINTS_MIN) {
        return SH_ERR_SHORT;
    }
    if (record->n > SH_LOAD_DRIFT_POINTS_MAX) {
        return SH_ERR_ARGUMENT;
    }
    if (!sh_finite_is_all(record->time_s, record->n) ||
        !sh_finite_is_all(record->value, record->n)) {
        return SH_ERR_NOT_FINITE;
    }
    for (size_t i = 0; i < record->n; i++) {
        if (record->time_s[i] < 0.0 || (i > 0 && record->time_s[i] <= record->time_s[i - 1])) {
            return SH_ERR_ARGUMENT;
        }
    }
    return SH_OK;
}

enum sh_status sh_load_drift_solve(const double *time_s,
                                   const double *value,
                                   size_t n,
                                   struct sh_load_drift *out)
{
    const struct record record = {time_s, value, n};
    enum sh_status status = check(&record);
    if (status != SH_OK) {
        return status;
    }
    struct sh_load_drift got = {.time_s = find_constant(&record)};
    const struct line line = fit_line(&record, got.time_s);
    if (!(fabs(line.first) > 0.0)) {
        return SH_ERR_SINGULAR;
    }
    double mean = 0.0;
    double squares = 0.0;
    for (size_t i = 0; i < n; i++) {
        mean += value[i] / (double)n;
    }
    for (size_t i = 0; i < n; i++) {
        squares += (value[i] - mean) * (value[i] - mean);
    }
    const double freedom = (double)(n - TERMS);
    got.ratio = line.drift / line.first;
    got.residual_sd = sqrt(line.squares / freedom);
    got.f = line.squares > 0.0
                ? fmax(0.0, squares - line.squares) / (TERMS - 1.0) / (line.squares / freedom)
                : 0.0;
    got.p = sh_distribution_get_f_upper(got.f, TERMS - 1.0, freedom);
    if (got.residual_sd > 0.0 && fabs(line.drift) > 0.0) {
        find_uncertainties(&record, &line, &got);
    }
    got.is_real = got.p < REAL_P && fabs(got.ratio) > LIMIT_U * got.ratio_u &&
                  isfinite(got.ratio_u) && isfinite(got.time_u_s);
    *out = got;
    return SH_OK;
}

double sh_load_drift_push(struct sh_load_drift_state *state,
                          const struct sh_channel *channel,
                          double value,
                          double dt_s)
{
    if (!(channel->load_drift_time_s > 0.0)) {
        return value;
    }
    const double force = value - state->drift;
    const double goal = channel->load_drift_ratio * force;
    state->drift += (goal - state->drift) * get_part(dt_s, channel->load_drift_time_s);
    return force;
}
