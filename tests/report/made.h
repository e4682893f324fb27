/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_TESTS_REPORT_MADE_H
#define SH_TESTS_REPORT_MADE_H

#include "finding/analysis.h"

/*
 * An analysis made by hand: shot 1 with a clicker, two findings and a second pass that moved
 * it; shot 2 a let-down with lost samples; shot 3 of which nothing is known but its release.
 */
void made_analysis(struct sh_analysis *analysis);

#endif
