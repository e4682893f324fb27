/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Opening a segmenter with each of its allocations failing in turn; none while samples flow. */
#include <stdint.h>

#include "rig.h"
#include "shot/segmenter.h"
#include "support/cmocka_all.h"
#include "support/scarce_heap.h"

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
        scarce_heap_begin(n_failures);
        const enum sh_status status = sh_segmenter_open(&config, &sink, &segmenter, &err);
        (void)scarce_heap_end();
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
    scarce_heap_begin(SIZE_MAX);
    rig_push(&rig, &(struct rig_cut){.block_frames = {25, 80}}, segmenter);
    const enum sh_status status = sh_segmenter_flush(segmenter, NULL);
    const size_t n_seen = scarce_heap_end();
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
