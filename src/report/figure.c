/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/figure.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* More than thousandths of a unit help nobody who reads a table. */
#define DECIMALS_MAX 3

/* Decimals that leave two significant digits of a half-width: 0.0196 -> 3, 0.0996 -> 2. */
static int count_decimals(double half)
{
    if (!(half > 0.0) || !isfinite(half)) {
        return DECIMALS_MAX;
    }
    int n_decimals = 1 - (int)floor(log10(half));
    if (round(half * pow(10.0, n_decimals)) >= 100.0) {
        n_decimals--; /* 0.0996 becomes 0.10 */
    }
    return n_decimals < 0 ? 0 : n_decimals > DECIMALS_MAX ? DECIMALS_MAX : n_decimals;
}

/* Prints a number, and nothing below zero that is rounded to nothing. */
static void print_number(double number, int n_decimals, char figure[SH_FIGURE_BYTES])
{
    (void)snprintf(figure, SH_FIGURE_BYTES, "%.*f", n_decimals, number);
    if (figure[0] == '-' && figure[1 + strspn(figure + 1, "0.")] == '\0') {
        memmove(figure, figure + 1, strlen(figure));
    }
}

/* A half-width that is too small to show counts as one of the last place: rounded up. */
static double show_half(double half, int n_decimals)
{
    return fmax(half, pow(10.0, -n_decimals));
}

/* Half the width of the 95 % interval in the unit that is shown. */
static double find_half(const struct sh_quantity *quantity, double factor)
{
    double lo = 0.0;
    double hi = 0.0;
    sh_quantity_interval(quantity, &lo, &hi);
    return fabs(factor) * (hi - lo) / 2.0;
}

void sh_figure_format_value(const struct sh_quantity *quantity,
                            double factor,
                            char figure[SH_FIGURE_BYTES])
{
    if (!sh_quantity_is_known(quantity)) {
        (void)snprintf(figure, SH_FIGURE_BYTES, "%s", SH_FIGURE_UNKNOWN);
        return;
    }
    print_number(factor * quantity->value, count_decimals(find_half(quantity, factor)), figure);
}

void sh_figure_format(const struct sh_quantity *quantity,
                      double factor,
                      char figure[SH_FIGURE_BYTES])
{
    sh_figure_format_value(quantity, factor, figure);
    if (!sh_quantity_is_known(quantity)) {
        return;
    }
    double half = find_half(quantity, factor);
    int n_decimals = count_decimals(half);
    size_t used = strlen(figure);
    if (quantity->has_interval) {
        char from[SH_FIGURE_BYTES];
        char to[SH_FIGURE_BYTES];
        print_number(factor * (factor < 0.0 ? quantity->hi : quantity->lo), n_decimals, from);
        print_number(factor * (factor < 0.0 ? quantity->lo : quantity->hi), n_decimals, to);
        (void)snprintf(figure + used, SH_FIGURE_BYTES - used, " (%s to %s)", from, to);
    } else if (half > 0.0) {
        (void)snprintf(figure + used, SH_FIGURE_BYTES - used, " \xC2\xB1%.*f", n_decimals,
                       show_half(half, n_decimals));
    }
}

void sh_figure_format_short(const struct sh_quantity *quantity,
                            double factor,
                            int n_decimals_max,
                            char figure[SH_FIGURE_BYTES])
{
    sh_figure_format(quantity, factor, figure);
    if (!sh_quantity_is_known(quantity)) {
        return;
    }
    double half = find_half(quantity, factor);
    if (count_decimals(half) <= n_decimals_max) {
        return;
    }
    print_number(factor * quantity->value, n_decimals_max, figure);
    size_t used = strlen(figure);
    if (half * pow(10.0, n_decimals_max) >= 0.5) {
        (void)snprintf(figure + used, SH_FIGURE_BYTES - used, " \xC2\xB1%.*f", n_decimals_max,
                       half);
    }
}
