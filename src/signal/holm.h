/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIGNAL_HOLM_H
#define SH_SIGNAL_HOLM_H

#include <stddef.h>

#include "base/status.h"

/*
 * Probabilities of n tests made at once, adjusted so that one that is below a level is so with
 * at most that chance among all of them, whatever depends on what (Holm 1979, Scand J Stat
 * 6:65): the i-th smallest times n - i + 1, never below a smaller one's, at most 1.
 * p[n], each 0 .. 1. order[n] is the caller's workspace. adjusted[n] stands in p's order and
 * may be p itself. n = 0 is fine. SH_ERR_NOT_FINITE: a p. SH_ERR_ARGUMENT: a p outside 0 .. 1;
 * adjusted untouched. Cost: n^2. Threads: any. Test: tests/signal/test_holm.c.
 */
enum sh_status sh_holm_adjust(const double *p, size_t n, size_t *order, double *adjusted);

#endif
