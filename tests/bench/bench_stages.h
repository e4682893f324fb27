/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_TESTS_BENCH_STAGES_H
#define SH_TESTS_BENCH_STAGES_H

#include "base/status.h"

/*
 * Prints where one pass over a recording spends its time: reading, scaling, segmenter, each
 * family of measures, findings, JSON. Each stage is run by itself, and timed with the
 * processor's clock.
 */
enum sh_status sh_bench_stages_print(const char *folder, struct sh_error *err);

#endif
