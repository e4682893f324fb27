/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/channel_set.h"

#include <stdlib.h>
#include <string.h>

#include "metrology/scale.h"
#include "sim/sampler.h"
#include "support/cmocka_all.h"
#include "support/near.h"

struct set {
    struct sh_stream_source_config stream[SH_CHANNEL_SET_STREAMS_MAX];
    size_t n_streams;
};

static struct set *find_set(const char *name)
{
    struct set *set = calloc(1, sizeof *set);
    assert_non_null(set);
    assert_int_equal(sh_channel_set_find(name, set->stream, &set->n_streams, NULL), SH_OK);
    assert_true(set->n_streams >= 1 && set->n_streams <= SH_CHANNEL_SET_STREAMS_MAX);
    return set;
}

/* Largest and smallest value that came of each channel, and how often it clipped. */
struct range {
    const struct set *set;
    double low[SH_CHANNEL_SET_STREAMS_MAX][SH_STREAM_CHANNELS_MAX];
    double high[SH_CHANNEL_SET_STREAMS_MAX][SH_STREAM_CHANNELS_MAX];
    size_t n_clipped;
};

static enum sh_status watch(void *context, const struct sh_block *block, struct sh_error *err)
{
    struct range *range = context;
    const struct sh_stream *stream = &range->set->stream[block->stream].stream;
    for (size_t i = 0; i < block->n_frames * block->n_channels; i++) {
        const size_t c = i % block->n_channels;
        const double value = sh_scale_value(&stream->channel[c], block->raw[i]);
        double *low = &range->low[block->stream][c];
        double *high = &range->high[block->stream][c];
        *low = value < *low ? value : *low;
        *high = value > *high ? value : *high;
        range->n_clipped += sh_scale_is_clipped(&stream->channel[c], block->raw[i]) ? 1 : 0;
    }
    return SH_OK;
}

static enum sh_status
pass_over(void *context, size_t stream, const struct sh_anchor *anchor, struct sh_error *err)
{
    return SH_OK;
}

/* What one shot and one let-down look like in a channel of this role. */
static void check_channel(const struct sh_channel *channel, double low, double high)
{
    switch (channel->role) {
    case SH_ROLE_STRING_FORCE:
        assert_true(low > -12.0 && low < 0.0 && high > 175.0 && high < 182.0);
        break;
    case SH_ROLE_FINGER_FORCE:
        assert_true(low > -1.0 && high > 25.0 && high < 100.0);
        break;
    case SH_ROLE_BOW_ACCELERATION:
        assert_true(low < -30.0 && high > 30.0);
        break;
    case SH_ROLE_CLICKER_CONTACT:
        assert_near(low, 0.0, 0.0, 0.0);
        assert_near(high, 1.0, 0.0, 0.0);
        break;
    case SH_ROLE_SOUND:
        assert_true(low < -0.5 && high > 0.5 && high < 16.0);
        break;
    }
}

/* Samples a whole session with a set and looks at each of its channels; the bow may clip. */
static void check_set(const struct sh_session_plan *plan, const struct set *set)
{
    struct range range = {.set = set};
    const struct sh_block_sink sink = {watch, pass_over, &range};
    const struct sh_sampler_config config = {plan, 1, set->stream, set->n_streams, 1024, false};
    struct sh_sampler *sampler = NULL;
    bool has_bow = false;
    assert_int_equal(sh_sampler_open(&config, &sink, &sampler, NULL), SH_OK);
    assert_int_equal(sh_sampler_advance(sampler, 1e9, NULL), SH_OK);
    for (size_t i = 0; i < set->n_streams; i++) {
        for (size_t c = 0; c < set->stream[i].stream.n_channels; c++) {
            const struct sh_channel *channel = &set->stream[i].stream.channel[c];
            check_channel(channel, range.low[i][c], range.high[i][c]);
            has_bow = has_bow || channel->role == SH_ROLE_BOW_ACCELERATION;
        }
    }
    assert_true(has_bow || range.n_clipped == 0);
    sh_sampler_close(&sampler);
}

/* Every set samples, each of its channels is alive and inside its range. */
static void test_alive(void **state)
{
    struct sh_session_plan_config config = sh_session_plan_config_default();
    struct sh_session_plan *plan = NULL;
    config.n_draws = 1;
    assert_int_equal(sh_session_plan_open(&config, &plan, NULL), SH_OK);
    for (size_t k = 0; sh_channel_set_get_name(k) != NULL; k++) {
        struct set *set = find_set(sh_channel_set_get_name(k));
        check_set(plan, set);
        free(set);
    }
    sh_session_plan_close(&plan);
}

/* Names, rates and noise as the header says. */
static void test_figures(void **state)
{
    struct set *set = find_set("force_bow");
    assert_int_equal(set->n_streams, 2);
    assert_string_equal(set->stream[0].stream.name, "string");
    assert_near(set->stream[0].stream.rate_hz, 1000.0, 0.0, 0.0);
    assert_near(set->stream[0].stream.channel[0].noise, 0.1, 0.0, 0.0);
    assert_int_equal(set->stream[1].stream.n_channels, 3);
    assert_near(set->stream[1].stream.rate_hz, 3200.0, 0.0, 0.0);
    assert_near(set->stream[1].stream.channel[2].noise, 0.3, 0.0, 0.0);
    assert_int_equal(set->stream[1].stream.channel[2].axis, SH_AXIS_Z);
    free(set);
    set = find_set("force80");
    assert_near(set->stream[0].stream.channel[0].delay_s, 0.00625, 1e-12, 0.0);
    free(set);
    set = find_set("force_fingers_bow");
    assert_int_equal(set->n_streams, 3);
    assert_int_equal(set->stream[0].stream.n_channels + set->stream[1].stream.n_channels, 4);
    assert_int_equal(set->stream[2].stream.n_channels, 3);
    free(set);
    set = find_set("fingers_bow");
    assert_int_equal(set->stream[0].stream.channel[1].finger, SH_FINGER_MIDDLE);
    free(set);
}

static void test_unknown(void **state)
{
    struct set *set = find_set("all");
    size_t n_streams = 99;
    struct sh_error err = {0};
    assert_int_equal(sh_channel_set_find("force2000", set->stream, &n_streams, &err),
                     SH_ERR_NOT_FOUND);
    assert_int_equal(n_streams, 99);
    assert_string_equal(err.where, "force2000");
    for (size_t k = 0; sh_channel_set_get_name(k) != NULL; k++) {
        assert_non_null(strstr(err.todo, sh_channel_set_get_name(k)));
    }
    assert_null(sh_channel_set_get_name(12));
    free(set);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_alive),
        cmocka_unit_test(test_figures),
        cmocka_unit_test(test_unknown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
