/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIGNAL_CHI_SQUARE_H
#define SH_SIGNAL_CHI_SQUARE_H

/*
 * Lower-tail probability of the chi-square law with freedom > 0 (any real number) degrees of
 * freedom: the regularised incomplete gamma function P(freedom / 2, x / 2), by its series below
 * x = freedom + 2 and by Lentz's continued fraction above (Abramowitz & Stegun 6.5.29 and
 * 6.5.31). x below 0 counts as 0. About 1e-14. Test: tests/signal/test_chi_square.c.
 */
double sh_chi_square_get_probability(double x, double freedom);

/*
 * The x with that lower-tail probability, 0 < probability < 1, to a relative 1e-13 (bisection
 * on the function above). NaN where an argument is out of range.
 */
double sh_chi_square_get_quantile(double probability, double freedom);

#endif
