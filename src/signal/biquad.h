/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIGNAL_BIQUAD_H
#define SH_SIGNAL_BIQUAD_H

#include <stdbool.h>
#include <stddef.h>

#include "base/status.h"

/*
 * Butterworth filters as cascades of second-order sections: causal and streaming, or forward
 * and backward without delay. Plain structs, no heap; any thread, one at a time per
 * struct sh_biquad.
 */

#define SH_BIQUAD_ORDER_MAX    16u
#define SH_BIQUAD_SECTIONS_MAX 16u

enum sh_biquad_kind {
    SH_BIQUAD_LOWPASS,
    SH_BIQUAD_HIGHPASS,
    SH_BIQUAD_BANDPASS /* of order n: n poles at each edge, n sections */
};

struct sh_biquad_config {
    enum sh_biquad_kind kind;
    bool for_two_passes;   /* move the corners so that two passes are at -3 dB there */
    size_t order;          /* 1 to SH_BIQUAD_ORDER_MAX, odd or even */
    double rate_hz;        /* of the samples */
    double corner_hz;      /* the -3 dB point; the lower one of a band-pass */
    double corner_high_hz; /* the upper one of a band-pass, else unused */
};

/* H(z) = (b0 + b1/z + b2/z^2) / (1 + a1/z + a2/z^2). */
struct sh_biquad_section {
    double b0;
    double b1;
    double b2;
    double a1;
    double a2;
};

struct sh_biquad_design {
    size_t n_sections;
    struct sh_biquad_section section[SH_BIQUAD_SECTIONS_MAX];
};

/*
 * Designs the filter: Butterworth poles, pre-warped bilinear transform. The gain of the pass
 * band is exactly 1 (at 0, at half the rate, or at the band's warped geometric mean) and stands
 * in the first section; the sections with the sharpest resonance come last.
 * for_two_passes divides the pre-warped corner w = tan(pi f / rate) of a low-pass by
 * (sqrt 2 - 1)^(1 / 2n), multiplies that of a high-pass, and widens the pre-warped band of a
 * band-pass about its geometric mean by the same factor, so that |H|^4 = 1/2 at the corner.
 * SH_ERR_ARGUMENT: order, a corner not inside 0 .. rate/2 (after the correction too), upper not
 * above lower; err says which. err may be NULL. out is untouched on failure.
 * Source: Oppenheim & Schafer 2010, Discrete-Time Signal Processing, ch. 7; factor from
 * |H|^4 = 1 / (1 + (f/fc)^2n)^2. Tests: tests/signal/test_biquad.c, against SciPy.
 */
enum sh_status sh_biquad_make(const struct sh_biquad_config *config,
                              struct sh_biquad_design *out,
                              struct sh_error *err);

/* |H| of one pass at a frequency, 0 to rate_hz / 2. */
double sh_biquad_get_gain(const struct sh_biquad_design *design, double f_hz, double rate_hz);

/* A running filter. */
struct sh_biquad {
    struct sh_biquad_design design;
    double state[SH_BIQUAD_SECTIONS_MAX][2]; /* transposed direct form II */
};

/* Starts a filter at rest (as if zeros had come for ever). Copies design. */
void sh_biquad_init(struct sh_biquad *filter, const struct sh_biquad_design *design);

/* Back to rest, as after sh_biquad_init. */
void sh_biquad_reset(struct sh_biquad *filter);

/* Puts the filter where a constant input x0 (finite) for ever would have brought it. */
void sh_biquad_settle(struct sh_biquad *filter, double x0);

/*
 * Filters the next n samples of x into y (may be the same array). However the input is cut, the
 * output's bits are the same. SH_ERR_NOT_FINITE: nothing is filtered, the state is as before.
 * Cost: 5 multiplications a section and sample.
 */
enum sh_status sh_biquad_push(struct sh_biquad *filter, const double *x, size_t n, double *y);

/*
 * Filters x[n] forward and backward: no delay, gain |H|^2. The ends are continued by n_pad
 * samples of odd reflection about the end samples, and each pass starts settled on its first.
 * x, y: [n], may be the same array; work: [n + 2 * n_pad], lent.
 * SH_ERR_SHORT: n <= n_pad or n is 0. SH_ERR_NOT_FINITE: y untouched.
 * Source: Gustafsson 1996, IEEE Trans Signal Process 44:988 (the reflected start, not his
 * optimal one). Test: tests/signal/test_biquad.c, against SciPy's sosfiltfilt with padlen
 * given.
 */
struct sh_biquad_span {
    const double *x;
    size_t n;
    size_t n_pad;
};
enum sh_status sh_biquad_filter_both_ways(const struct sh_biquad_design *design,
                                          const struct sh_biquad_span *span,
                                          double *work,
                                          double *y);

/*
 * A padding that lets the filter's memory fade to 1e-3: ceil(6.9 / -ln |largest pole|),
 * at least 1.
 */
size_t sh_biquad_get_pad(const struct sh_biquad_design *design);

#endif
