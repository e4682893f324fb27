/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "live/trace_points.h"

#include <math.h>
#include <stdlib.h>

#include "signal/random.h"
#include "support/cmocka_all.h"
#include "support/near.h"

#define RATE_HZ  1000.0
#define N_FRAMES 4000u
#define DELAY_S  0.004
#define OFFSET   2.5
#define ZERO_S   2.0003 /* off the samples' grid: none lies on a column's edge */

/* Two channels of noise with spikes, made of one seed; frames 1500 to 1509 are lost. */
struct fixture {
    struct sh_stream about;
    struct sh_shot_stream stream;
    struct sh_timebase timebase;
    double time_s[N_FRAMES];
    double value[2][N_FRAMES];
    unsigned char flags[N_FRAMES];
    struct sh_trace_points points;
};

static int open_fixture(void **state)
{
    struct fixture *fixture = calloc(1, sizeof *fixture);
    struct sh_random random;
    if (fixture == NULL) {
        return -1;
    }
    sh_random_init(&random, 3);
    fixture->about.n_channels = 2;
    fixture->about.rate_hz = RATE_HZ;
    fixture->about.channel[0].delay_s = DELAY_S;
    fixture->about.channel[1].delay_s = DELAY_S;
    fixture->timebase = (struct sh_timebase){.rate_hz = RATE_HZ};
    for (size_t i = 0; i < N_FRAMES; i++) {
        bool is_spike = sh_random_get_below(&random, 200) == 0;
        fixture->time_s[i] = (double)i / RATE_HZ;
        fixture->value[0][i] = 180.0 + sh_random_get_normal(&random) * (is_spike ? 40.0 : 1.0);
        fixture->value[1][i] = sh_random_get_normal(&random);
        fixture->flags[i] = i >= 1500 && i < 1510 ? SH_SHOT_FLAG_FILLED : 0;
    }
    fixture->stream = (struct sh_shot_stream){.stream = &fixture->about,
                                              .n_frames = N_FRAMES,
                                              .time_s = fixture->time_s,
                                              .timebase = &fixture->timebase,
                                              .flags = fixture->flags,
                                              .value = {fixture->value[0], fixture->value[1]}};
    *state = fixture;
    return 0;
}

static int close_fixture(void **state)
{
    struct fixture *fixture = *state;
    sh_trace_points_close(&fixture->points);
    free(fixture);
    return 0;
}

static void fill(struct fixture *fixture, const struct sh_trace_points_span *span, size_t k)
{
    sh_trace_points_close(&fixture->points);
    assert_int_equal(sh_trace_points_open(span->n_pieces, &fixture->points), SH_OK);
    sh_trace_points_fill(&fixture->points, span, &fixture->stream, k, OFFSET);
}

/* Lowest or highest of the samples whose time lies in [from_s, until_s); not finite: none. */
static double
find_extreme(const struct fixture *fixture, size_t k, double from_s, double until_s, bool most)
{
    double found = most ? -(double)INFINITY : (double)INFINITY;
    for (size_t i = 0; i < N_FRAMES; i++) {
        double at_s = fixture->time_s[i] - DELAY_S;
        if (at_s >= from_s && at_s < until_s && fixture->flags[i] == 0) {
            double value = fixture->value[k][i] - OFFSET;
            found = most ? fmax(found, value) : fmin(found, value);
        }
    }
    return found;
}

/* Lowest or highest of the points between two times. */
static double find_drawn(const struct sh_trace_points *points,
                         const double *values,
                         double from_s,
                         double until_s,
                         bool most)
{
    double found = most ? -(double)INFINITY : (double)INFINITY;
    for (size_t i = 0; i < points->n; i++) {
        if (points->t_s[i] >= from_s && points->t_s[i] < until_s && isfinite(values[i])) {
            found = most ? fmax(found, values[i]) : fmin(found, values[i]);
        }
    }
    return found;
}

/* One side of a column: what is drawn there, and what its samples span; neither where none is.
 */
static void
check_side(const struct fixture *fixture, size_t k, double from_s, double to_s, bool most)
{
    const struct sh_trace_points *points = &fixture->points;
    double drawn = find_drawn(points, most ? points->hi : points->lo, from_s, to_s, most);
    double sampled = find_extreme(fixture, k, ZERO_S + from_s, ZERO_S + to_s, most);
    assert_true(isfinite(sampled) ? fabs(drawn - sampled) < 1e-12 : !isfinite(drawn));
}

static void check_columns(struct fixture *fixture, size_t n_pieces, size_t k)
{
    const struct sh_trace_points_span span = {
        .zero_s = ZERO_S, .from_s = -1.5, .until_s = 1.5, .n_pieces = n_pieces};
    const double piece_s = 3.0 / (double)n_pieces;
    fill(fixture, &span, k);
    for (size_t i = 0; i < n_pieces; i++) {
        double from_s = -1.5 + (double)i * piece_s;
        check_side(fixture, k, from_s, from_s + piece_s, false);
        check_side(fixture, k, from_s, from_s + piece_s, true);
    }
}

/* What a column of pixels as wide as a piece shows is what all samples would show in it. */
static void test_columns_are_those_of_every_sample(void **state)
{
    static const size_t n_pieces[] = {16, 100, 390, 999};
    for (size_t j = 0; j < sizeof n_pieces / sizeof n_pieces[0]; j++) {
        check_columns(*state, n_pieces[j], 0);
        check_columns(*state, n_pieces[j], 1);
    }
}

/* At most as many samples as pieces: each stands at its own time with its own value. */
static void test_every_sample_where_there_is_room(void **state)
{
    struct fixture *fixture = *state;
    static const size_t n_pieces[] = {99, 100, 101};
    for (size_t j = 0; j < 3; j++) {
        const struct sh_trace_points_span span = {
            .zero_s = ZERO_S, .from_s = 0.0, .until_s = 0.1, .n_pieces = n_pieces[j]};
        fill(fixture, &span, 0);
        assert_int_equal(fixture->points.n, j == 0 ? 99 : 100);
        for (size_t i = 0; i < 100 && j > 0; i++) {
            assert_near(fixture->points.t_s[i], 0.0007 + (double)i / RATE_HZ, 1e-9, 0.0);
            assert_near(fixture->points.lo[i], fixture->value[0][2005 + i] - OFFSET, 0.0, 0.0);
            assert_near(fixture->points.hi[i], fixture->points.lo[i], 0.0, 0.0);
        }
    }
}

/* Within one piece, between two, and sample by sample. */
static void test_hole_is_one_point(void **state)
{
    struct fixture *fixture = *state;
    static const size_t n_pieces[] = {16, 100, 998, 1200};
    for (size_t j = 0; j < 4; j++) {
        const struct sh_trace_points_span span = {
            .zero_s = 1.5, .from_s = -0.5, .until_s = 0.5, .n_pieces = n_pieces[j]};
        size_t n_holes = 0;
        fill(fixture, &span, 1);
        for (size_t i = 0; i < fixture->points.n; i++) {
            bool is_hole = isfinite(fixture->points.lo[i]) == 0;
            assert_int_equal(is_hole, isfinite(fixture->points.hi[i]) == 0);
            n_holes += is_hole ? 1 : 0;
        }
        assert_int_equal(n_holes, 1);
        assert_true(fixture->points.n <= fixture->points.capacity);
    }
}

static void test_nothing_there(void **state)
{
    struct fixture *fixture = *state;
    const struct sh_trace_points_span span = {
        .zero_s = 50.0, .from_s = -1.0, .until_s = 1.0, .n_pieces = 16};
    fill(fixture, &span, 0);
    assert_int_equal(fixture->points.n, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_columns_are_those_of_every_sample),
        cmocka_unit_test(test_every_sample_where_there_is_room),
        cmocka_unit_test(test_hole_is_one_point),
        cmocka_unit_test(test_nothing_there),
    };
    return cmocka_run_group_tests(tests, open_fixture, close_fixture);
}
