/* SPDX-License-Identifier: GPL-3.0-or-later */

/*
 * How much faster than real time a set of channels is sampled. Usage: bench_sim_sampler [SET].
 * Exit status 1 where it is under the 200 times that simulated recordings are made with.
 */

#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#include "sim/channel_set.h"
#include "sim/sampler.h"

#define WANTED_RATIO 200.0

static enum sh_status count(void *context, const struct sh_block *block, struct sh_error *err)
{
    size_t *n = context;
    *n += block->n_frames * block->n_channels;
    return SH_OK;
}

static enum sh_status
pass_over(void *context, size_t stream, const struct sh_anchor *anchor, struct sh_error *err)
{
    return SH_OK;
}

static double get_cpu_s(void)
{
    struct timespec now;
    (void)clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

int main(int argc, char **argv)
{
    static struct sh_stream_source_config stream[SH_CHANNEL_SET_STREAMS_MAX];
    const char *name = argc > 1 ? argv[1] : "force_bow";
    const struct sh_session_plan_config plan_config = sh_session_plan_config_default();
    struct sh_session_plan *plan = NULL;
    struct sh_sampler *sampler = NULL;
    struct sh_error err = {0};
    size_t n_samples = 0;
    size_t n_streams = 0;
    double cpu_s = 0.0;
    double ratio = 0.0;
    const struct sh_block_sink sink = {count, pass_over, &n_samples};
    enum sh_status status = sh_channel_set_find(name, stream, &n_streams, &err);
    if (status != SH_OK) {
        goto out;
    }
    status = sh_session_plan_open(&plan_config, &plan, &err);
    if (status != SH_OK) {
        goto out;
    }
    const struct sh_sampler_config config = {plan, 1, stream, n_streams, 4096, false};
    status = sh_sampler_open(&config, &sink, &sampler, &err);
    if (status != SH_OK) {
        goto out;
    }
    cpu_s = get_cpu_s();
    status = sh_sampler_advance(sampler, plan->duration_s, &err);
    cpu_s = get_cpu_s() - cpu_s;
    ratio = plan->duration_s / cpu_s;
    (void)printf("%s: %.0f s of %zu draws, %zu samples in %.2f s of processor: %.0f x\n", name,
                 plan->duration_s, plan->n_draws, n_samples, cpu_s, ratio);
out:
    if (status != SH_OK) {
        (void)fprintf(stderr, "bench: %s\n", err.what);
    }
    sh_sampler_close(&sampler);
    sh_session_plan_close(&plan);
    return status == SH_OK && ratio >= WANTED_RATIO ? EXIT_SUCCESS : EXIT_FAILURE;
}
