/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/detrend.h"

#include <math.h>

/* Counts the present samples; false where one is not finite. */
static bool count_present(const double *x, const bool *present, size_t n, size_t *n_present)
{
    *n_present = 0;
    for (size_t i = 0; i < n; i++) {
        bool is_present = present == NULL || present[i];
        if (is_present && !isfinite(x[i])) {
            return false;
        }
        *n_present += is_present;
    }
    return true;
}

/* Takes centre + slope * (i - middle) off. */
struct line {
    double middle;
    double centre;
    double slope;
};

static struct line fit_line(const double *x, const bool *present, size_t n, size_t n_present)
{
    struct line line = {0.0, 0.0, 0.0};
    for (size_t i = 0; i < n; i++) {
        if (present == NULL || present[i]) {
            line.middle += (double)i / (double)n_present;
            line.centre += x[i] / (double)n_present;
        }
    }
    double tt = 0.0;
    double tx = 0.0;
    for (size_t i = 0; i < n; i++) {
        if (present == NULL || present[i]) {
            double t = (double)i - line.middle;
            tt += t * t;
            tx += t * (x[i] - line.centre);
        }
    }
    line.slope = tt > 0.0 ? tx / tt : 0.0;
    return line;
}

static void
take_off(const double *x, const bool *present, size_t n, struct line line, double *y)
{
    for (size_t i = 0; i < n; i++) {
        bool is_present = present == NULL || present[i];
        double level = line.centre + line.slope * ((double)i - line.middle);
        y[i] = is_present ? x[i] - level : 0.0;
    }
}

enum sh_status sh_detrend_line(const double *x, const bool *present, size_t n, double *y)
{
    size_t n_present = 0;
    if (!count_present(x, present, n, &n_present)) {
        return SH_ERR_NOT_FINITE;
    }
    if (n_present < 2) {
        return SH_ERR_SHORT;
    }
    take_off(x, present, n, fit_line(x, present, n, n_present), y);
    return SH_OK;
}

enum sh_status sh_detrend_mean(const double *x, const bool *present, size_t n, double *y)
{
    size_t n_present = 0;
    if (!count_present(x, present, n, &n_present)) {
        return SH_ERR_NOT_FINITE;
    }
    if (n_present < 1) {
        return SH_ERR_SHORT;
    }
    struct line line = fit_line(x, present, n, n_present);
    line.slope = 0.0;
    take_off(x, present, n, line, y);
    return SH_OK;
}
