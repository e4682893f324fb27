/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_TESTS_BENCH_MACHINE_H
#define SH_TESTS_BENCH_MACHINE_H

#include <stddef.h>

/*
 * What a benchmark's figures were measured on, and how far apart they lay.
 */

/* Prints processor, cores, compiler and flags in one line on standard output. */
void sh_bench_machine_print(void);

/* Processor time of this process so far, s; what else the machine does is not in it. */
double sh_bench_machine_get_cpu_s(void);

/* A clock that never steps, s; it has what others took from the processor too. */
double sh_bench_machine_get_wall_s(void);

struct sh_bench_machine_spread {
    double median;
    double low;
    double high;
};

/* Median, smallest and largest of value[n], n at least 1, which is sorted. */
struct sh_bench_machine_spread sh_bench_machine_get_spread(double *value, size_t n);

#endif
