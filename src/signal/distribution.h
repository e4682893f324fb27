/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIGNAL_DISTRIBUTION_H
#define SH_SIGNAL_DISTRIBUTION_H

/*
 * Probabilities and quantiles of the normal, Student t and F laws; chi-square stands in
 * signal/chi_square.h. freedom: degrees of freedom, any real number above 0. Arguments out of
 * range and NaN give NaN. Any thread, no heap. Accuracy, against GSL: t tails to a relative
 * 1e-12, F 1e-11 and quantiles to 1e-11, for 1e-10 < p < 1 - 1e-10 and freedom 0.5 .. 1000.
 * Test: tests/signal/test_distribution.c.
 */

/* Probability that a standard normal number is at most x, by the C library's erfc. */
double sh_distribution_get_normal(double x);

/*
 * The x with that lower-tail probability, 0 < probability < 1: Abramowitz & Stegun 26.2.23
 * refined by Halley's rule.
 */
double sh_distribution_get_normal_quantile(double probability);

/*
 * Regularised incomplete beta function I_x(a, b), 0 <= x <= 1, a > 0, b > 0, by Lentz's
 * continued fraction (DLMF 8.17.22). Cost: O(sqrt(max(a, b))).
 */
double sh_distribution_get_beta(double x, double a, double b);

/* Probability that |t| of Student's law is above |t|: the two-sided p. */
double sh_distribution_get_t_two_sided(double t, double freedom);

/* Lower-tail probability of Student's law. */
double sh_distribution_get_t(double t, double freedom);

/* The t with that lower-tail probability, 0 < probability < 1, by bisection. */
double sh_distribution_get_t_quantile(double probability, double freedom);

/* Probability that the variance ratio is above f >= 0: the p of an F test. */
double sh_distribution_get_f_upper(double f, double freedom1, double freedom2);

/* The f with that lower-tail probability, 0 < probability < 1, by bisection. */
double sh_distribution_get_f_quantile(double probability, double freedom1, double freedom2);

#endif
