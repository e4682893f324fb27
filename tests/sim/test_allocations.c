/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What takes memory in this stage, with each of its allocations failing in turn. */
#include <jansson.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

#include "sim/channel_set.h"
#include "sim/sampler.h"
#include "sim/truth_json.h"
#include "support/cmocka_all.h"
#include "support/scarce_heap.h"

#define FAILURES_MAX 10000u

/* What jansson asks for goes the same way. */
static void *take_for_json(size_t n_bytes)
{
    return malloc(n_bytes);
}

enum job { OPEN_PLAN, OPEN_SAMPLER, WRITE_TRUTH, READ_TRUTH, JOBS };

struct bench {
    struct sh_session_plan *plan;
    struct sh_stream_source_config stream[SH_CHANNEL_SET_STREAMS_MAX];
    size_t n_streams;
    char path[64];
};

static struct sh_session_plan_config make_plan_config(void)
{
    struct sh_session_plan_config config = sh_session_plan_config_default();
    config.n_draws = 2;
    return config;
}

static enum sh_status
do_nothing(void *context, const struct sh_block *block, struct sh_error *err)
{
    return SH_OK;
}

static enum sh_status
pass_over(void *context, size_t stream, const struct sh_anchor *anchor, struct sh_error *err)
{
    return SH_OK;
}

/* Each leaves what it was to set untouched where it fails, and frees what it opened. */
static enum sh_status open_plan(struct sh_error *err)
{
    const struct sh_session_plan_config config = make_plan_config();
    struct sh_session_plan *plan = NULL;
    const enum sh_status status = sh_session_plan_open(&config, &plan, err);
    assert_true((plan != NULL) == (status == SH_OK));
    sh_session_plan_close(&plan);
    return status;
}

static enum sh_status open_sampler(const struct bench *bench, struct sh_error *err)
{
    const struct sh_sampler_config config = {bench->plan,      1,  bench->stream,
                                             bench->n_streams, 64, false};
    const struct sh_block_sink sink = {do_nothing, pass_over, NULL};
    struct sh_sampler *sampler = NULL;
    const enum sh_status status = sh_sampler_open(&config, &sink, &sampler, err);
    assert_true((sampler != NULL) == (status == SH_OK));
    sh_sampler_close(&sampler);
    return status;
}

static enum sh_status write_truth(const struct bench *bench, struct sh_error *err)
{
    const struct sh_truth_set set = {1, 10.0, bench->plan->n_draws, bench->plan->truth};
    return sh_truth_json_write(bench->path, &set, err);
}

static enum sh_status read_truth(const struct bench *bench, struct sh_error *err)
{
    struct sh_truth_set *set = NULL;
    const enum sh_status status = sh_truth_json_read(bench->path, &set, err);
    assert_true((set != NULL) == (status == SH_OK));
    sh_truth_json_close(&set);
    return status;
}

static enum sh_status do_job(enum job job, const struct bench *bench, struct sh_error *err)
{
    switch (job) {
    case OPEN_PLAN:
        return open_plan(err);
    case OPEN_SAMPLER:
        return open_sampler(bench, err);
    case WRITE_TRUTH:
        return write_truth(bench, err);
    case READ_TRUTH:
        return read_truth(bench, err);
    case JOBS:
    default:
        return SH_ERR_ARGUMENT;
    }
}

/* Does a job with allocation number n_before failing; true where all went well. */
static bool do_with_failure(enum job job, const struct bench *bench, size_t n_before)
{
    struct sh_error err = {0};
    scarce_heap_begin(n_before);
    const enum sh_status status = do_job(job, bench, &err);
    (void)scarce_heap_end();
    if (status != SH_OK) {
        /* jansson takes a token for which it has no memory for a bad one */
        assert_true(status == SH_ERR_MEMORY || (job == READ_TRUTH && status == SH_ERR_FORMAT));
        assert_int_equal(err.status, status);
    }
    return status == SH_OK;
}

static void test_each_failure(void **state)
{
    struct bench *bench = calloc(1, sizeof *bench);
    const struct sh_session_plan_config config = make_plan_config();
    assert_non_null(bench);
    assert_int_equal(sh_session_plan_open(&config, &bench->plan, NULL), SH_OK);
    assert_int_equal(sh_channel_set_find("all", bench->stream, &bench->n_streams, NULL), SH_OK);
    (void)snprintf(bench->path, sizeof bench->path, "truth-%ld.json", (long)getpid());
    for (enum job job = OPEN_PLAN; job < JOBS; job++) {
        size_t n_failures = 0;
        while (!do_with_failure(job, bench, n_failures)) {
            n_failures++;
            assert_true(n_failures < FAILURES_MAX);
        }
        print_message("job %d: %zu allocations failed in turn\n", (int)job, n_failures);
        assert_true(n_failures >= 4);
    }
    assert_int_equal(unlink(bench->path), 0);
    sh_session_plan_close(&bench->plan);
    free(bench);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_each_failure)};
    json_set_alloc_funcs(take_for_json, free);
    return cmocka_run_group_tests(tests, NULL, NULL);
}
