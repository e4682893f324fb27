/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "bench/bench_machine.h"

#include <stdio.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include "signal/stats.h"

#define NS 1e-9

/* The processor's name as the kernel gives it. */
static void find_processor(char *name, size_t n_bytes)
{
    char line[256];
    (void)snprintf(name, n_bytes, "unknown processor");
    FILE *file = fopen("/proc/cpuinfo", "r");
    if (file == NULL) {
        return;
    }
    while (fgets(line, sizeof line, file) != NULL) {
        const char *colon = strchr(line, ':');
        if (strncmp(line, "model name", 10) == 0 && colon != NULL) {
            line[strcspn(line, "\n")] = '\0';
            (void)snprintf(name, n_bytes, "%s", colon + 2);
            break;
        }
    }
    (void)fclose(file);
}

void sh_bench_machine_print(void)
{
    char name[128];
    find_processor(name, sizeof name);
    (void)printf("machine: %s, %ld cores, %s, flags%s\n", name, sysconf(_SC_NPROCESSORS_ONLN),
#ifdef __clang__
                 "clang " __clang_version__,
#else
                 "gcc " __VERSION__,
#endif
                 SH_BENCH_FLAGS);
}

static double get_s(clockid_t clock)
{
    struct timespec now = {0};
    (void)clock_gettime(clock, &now);
    return (double)now.tv_sec + NS * (double)now.tv_nsec;
}

double sh_bench_machine_get_cpu_s(void)
{
    return get_s(CLOCK_PROCESS_CPUTIME_ID);
}

double sh_bench_machine_get_wall_s(void)
{
    return get_s(CLOCK_MONOTONIC);
}

struct sh_bench_machine_spread sh_bench_machine_get_spread(double *value, size_t n)
{
    sh_stats_sort(value, n);
    const double median = 0.5 * (value[(n - 1) / 2] + value[n / 2]);
    return (struct sh_bench_machine_spread){median, value[0], value[n - 1]};
}
