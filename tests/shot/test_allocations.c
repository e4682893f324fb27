/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Opening a segmenter with each of its allocations failing in turn; none while samples flow. */
#include <stdbool.h>
#include <stdlib.h>

#include "rig.h"
#include "shot/segmenter.h"
#include "support/cmocka_all.h"

/* The linker sends the calls of the program here (--wrap); the counts are the test's own. */
/* NOLINTBEGIN(bugprone-reserved-identifier,cert-dcl37-c,readability-identifier-naming) */
/* NOLINTBEGIN(cppcoreguidelines-avoid-non-const-global-variables) */
static size_t n_left;
static size_t n_seen;
static bool is_counting;
/* NOLINTEND(cppcoreguidelines-avoid-non-const-global-variables) */

void *__real_malloc(size_t n_bytes);
void *__real_calloc(size_t n, size_t n_bytes);
void *__real_realloc(void *old, size_t n_bytes);
void *__wrap_malloc(size_t n_bytes);
void *__wrap_calloc(size_t n, size_t n_bytes);
void *__wrap_realloc(void *old, size_t n_bytes);

static bool fails_now(void)
{
    n_seen += is_counting ? 1 : 0;
    return is_counting && n_left-- == 0;
}

void *__wrap_malloc(size_t n_bytes)
{
    return fails_now() ? NULL : __real_malloc(n_bytes);
}

void *__wrap_calloc(size_t n, size_t n_bytes)
{
    return fails_now() ? NULL : __real_calloc(n, n_bytes);
}

void *__wrap_realloc(void *old, size_t n_bytes)
{
    return fails_now() ? NULL : __real_realloc(old, n_bytes);
}

/* NOLINTEND(bugprone-reserved-identifier,cert-dcl37-c,readability-identifier-naming) */

static struct sh_segmenter_config get_config(const struct rig *rig,
                                             const struct sh_segmenter_config *plain)
{
    struct sh_segmenter_config config = *plain;
    config.n_streams = rig->n_streams;
    for (size_t s = 0; s < rig->n_streams; s++) {
        config.stream[s] = &rig->stream[s].described;
    }
    return config;
}

static void test_each_failure(void **state)
{
    static const struct rig_draw draws[] = {{.gap_s = 2.0}};
    const struct sh_segmenter_config plain = sh_segmenter_config_default();
    struct rig rig;
    struct rig_result result;
    rig_open(&rig, draws, 1, 250.0, 0.2);
    rig_add_bow(&rig, 800.0);
    const struct sh_segmenter_config config = get_config(&rig, &plain);
    const struct sh_shot_sink sink = rig_sink(&result);
    size_t n_failures = 0;
    for (;;) {
        struct sh_segmenter *segmenter = NULL;
        struct sh_error err = {0};
        n_left = n_failures;
        is_counting = true;
        const enum sh_status status = sh_segmenter_open(&config, &sink, &segmenter, &err);
        is_counting = false;
        if (status == SH_OK) {
            sh_segmenter_close(&segmenter);
            break;
        }
        assert_int_equal(status, SH_ERR_MEMORY);
        assert_int_equal(err.status, SH_ERR_MEMORY);
        assert_null(segmenter);
        n_failures++;
    }
    print_message("%zu allocations failed in turn\n", n_failures);
    assert_true(n_failures >= 15);
    rig_close(&rig);
}

/* Samples, shots and the flush take nothing from the heap. */
static void test_none_while_samples_flow(void **state)
{
    static const struct rig_draw draws[] = {{.gap_s = 2.0}, {.gap_s = 4.0}};
    const struct sh_segmenter_config plain = sh_segmenter_config_default();
    struct rig rig;
    struct rig_result result;
    rig_open(&rig, draws, 2, 250.0, 0.2);
    rig_add_bow(&rig, 800.0);
    struct sh_segmenter *segmenter = rig_open_segmenter(&rig, &plain, &result);
    n_left = SIZE_MAX;
    n_seen = 0;
    is_counting = true;
    rig_push(&rig, &(struct rig_cut){.block_frames = {25, 80}}, segmenter);
    const enum sh_status status = sh_segmenter_flush(segmenter, NULL);
    is_counting = false;
    assert_int_equal(status, SH_OK);
    assert_int_equal(result.n_shots, 2);
    assert_int_equal(n_seen, 0);
    sh_segmenter_close(&segmenter);
    rig_close(&rig);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_each_failure),
        cmocka_unit_test(test_none_while_samples_flow),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
