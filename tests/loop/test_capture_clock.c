/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "loop/program.h"
#include "loop/sensor.h"
#include "support/cmocka_all.h"
#include "support/json_file.h"
#include "support/near.h"

/*
 * The shooting clock beside a capture of a simulated sensor: set-up times against the truth,
 * and alternating shooting in which releases end the own time.
 */

#define DRAWS_MAX      24u
#define AN_END         6u
#define CLOCK_S        240.0
#define SETUP_WITHIN   0.030 /* s, */
#define REST_S         1.2   /* a minute at the sensor's speed */
#define SETUP_SHARE    0.95  /* of the set-ups at least */
#define RELEASE_PASS_S 0.05  /* the passes' releases lie no further apart */

/* What is known of the draws: as it was, and as it was measured. */
struct times {
    size_t n;
    double draw_start_s[DRAWS_MAX];
    double release_s[DRAWS_MAX];
    double setup_s[DRAWS_MAX];
    double left_s[DRAWS_MAX]; /* at the release */
};

/* NaN where it is null or not there. */
static double get(const json_t *shot, const char *group, const char *key)
{
    const json_t *value = json_object_get(json_object_get(shot, group), key);
    return json_is_number(value) ? json_number_value(value) : (double)NAN;
}

static void read_times(const json_t *list, struct times *times)
{
    times->n = json_array_size(list);
    assert_true(times->n > 0 && times->n <= DRAWS_MAX);
    for (size_t i = 0; i < times->n; i++) {
        const json_t *shot = json_array_get(list, i);
        times->draw_start_s[i] = get(shot, "events", "draw_start_s");
        times->release_s[i] = get(shot, "events", "release_s");
        times->setup_s[i] = get(shot, "measures", "setup_time_s");
        times->left_s[i] = get(shot, "measures", "time_left_release_s");
        assert_true(isfinite(times->draw_start_s[i]) && isfinite(times->release_s[i]));
    }
}

struct run {
    struct sensor sensor;
    struct program program;
    char out[SCRATCH_PATH_BYTES];
};

static void start(struct run *run,
                  const struct scratch *scratch,
                  const struct sensor_config *config,
                  const char *format)
{
    scratch_path(scratch, config->name, run->out);
    (void)strncat(run->out, "_rec", sizeof run->out - strlen(run->out) - 1);
    sensor_start(&run->sensor, config);
    const char *words[] = {"capture",
                           "--sensor",
                           run->sensor.profile,
                           "--port",
                           run->sensor.port,
                           "--replay",
                           "--out",
                           run->out,
                           format != NULL ? "--clock" : NULL,
                           format,
                           NULL};
    const struct program_config program = {
        .scratch = scratch, .name = config->name, .words = words, .has_keys = true};
    program_start(&run->program, &program);
}

static void end(struct run *run)
{
    int status = program_wait(&run->program);
    if (status != 0) {
        fail_msg("capture ended with %d: %s", status, program_read_err(&run->program));
    }
    program_close_keys(&run->program);
    sensor_end(&run->sensor);
}

/* The clock mark between a draw and the one before it; NaN: none. */
static double find_clock(const json_t *marks, double after_s, double until_s)
{
    double found_s = (double)NAN;
    for (size_t i = 0; i < json_array_size(marks); i++) {
        const json_t *mark = json_array_get(marks, i);
        const double t_s = json_number_value(json_object_get(mark, "t_s"));
        const char *kind = json_string_value(json_object_get(mark, "kind"));
        if (strcmp(kind, "clock") == 0 && t_s > after_s && t_s <= until_s) {
            found_s = t_s;
        }
    }
    return found_s;
}

/*
 * Set-ups and times left as they must be: what lies between two events by the truth, and a
 * clock's start where it was kept, put on the truth's clock by the release before it.
 */
static void find_wanted(const struct times *truth,
                        const struct times *got,
                        const json_t *marks,
                        struct times *wanted)
{
    double ends_s = (double)NAN; /* of the clock, on the truth's clock */
    size_t n_clocks = 0;
    *wanted = *truth;
    for (size_t i = 0; i < truth->n; i++) {
        const double before_s = i > 0 ? got->release_s[i - 1] : -1.0;
        const double clock_s = find_clock(marks, before_s, got->draw_start_s[i]);
        double from_s = i > 0 ? truth->release_s[i - 1] : 0.0;
        if (isfinite(clock_s)) {
            from_s += i > 0 ? clock_s - before_s : clock_s;
            ends_s = from_s + CLOCK_S;
            n_clocks++;
        }
        wanted->setup_s[i] = truth->draw_start_s[i] - from_s;
        wanted->left_s[i] = ends_s - truth->release_s[i];
    }
    assert_int_equal(n_clocks, truth->n / AN_END);
}

static size_t
count_within(const double *got, const double *wanted, size_t n, double within, double *worst)
{
    size_t n_within = 0;
    *worst = 0.0;
    for (size_t i = 0; i < n; i++) {
        assert_true(isfinite(got[i]));
        n_within += fabs(got[i] - wanted[i]) <= within ? 1 : 0;
        *worst = fmax(*worst, fabs(got[i] - wanted[i]));
    }
    return n_within;
}

/* Four ends, each of a clock that is started while the archer waits. */
static void check_set(const struct scratch *scratch, const char *set)
{
    static struct times truth;
    static struct times got;
    static struct times wanted;
    struct run run;
    double worst_s = 0.0;
    const struct sensor_config config = {scratch, set, set, "24", "50"};
    start(&run, scratch, &config, NULL);
    for (unsigned i = 0; i < 4; i++) {
        char shown[32];
        (void)snprintf(shown, sizeof shown, "Shot %u: ", i * AN_END);
        if (i > 0) {
            program_await_text(run.program.err, shown);
            program_pause(REST_S);
        }
        program_type(&run.program, "c 240 6\n");
    }
    end(&run);
    json_t *recording = json_file_load_in(run.out, "recording.json");
    json_t *analysis = json_file_load_in(run.out, "analysis.json");
    json_t *true_draws = json_file_load(run.sensor.truth);
    read_times(json_object_get(true_draws, "draws"), &truth);
    read_times(json_object_get(analysis, "shots"), &got);
    assert_int_equal(got.n, truth.n);
    find_wanted(&truth, &got, json_object_get(recording, "marks"), &wanted);
    size_t n = count_within(got.setup_s, wanted.setup_s, got.n, SETUP_WITHIN, &worst_s);
    print_message("%s: %zu of %zu set-up times within 30 ms, the worst off by %.1f ms\n", set,
                  n, got.n, worst_s * 1000.0);
    assert_true((double)n >= SETUP_SHARE * (double)got.n);
    n = count_within(got.left_s, wanted.left_s, got.n, SETUP_WITHIN, &worst_s);
    print_message("%s: %zu of %zu times left within 30 ms, the worst off by %.1f ms\n", set, n,
                  got.n, worst_s * 1000.0);
    assert_true((double)n >= SETUP_SHARE * (double)got.n);
    json_decref(true_draws);
    json_decref(analysis);
    json_decref(recording);
}

static void test_set_up_times(void **state)
{
    check_set(*state, "force1000");
    check_set(*state, "force80");
}

static double get_mark(const json_t *marks, size_t i, const char *kind)
{
    const json_t *mark = json_array_get(marks, i);
    assert_string_equal(json_string_value(json_object_get(mark, "kind")), kind);
    return json_number_value(json_object_get(mark, "t_s"));
}

/* Line-up, an arrow, the other by key, an arrow, and so on: the own times alone are marked. */
static void test_alternating(void **state)
{
    static struct times got;
    struct run run;
    const struct sensor_config config = {*state, "turns", "force1000", "3", "20"};
    start(&run, *state, &config, "alternating");
    program_type(&run.program, "c\n");
    program_await_text(run.program.err, "Come to the line: 10 s");
    program_await_text(run.program.err, "Shoot: 20 s for you");
    program_await_text(run.program.err, "Shot 1: ");
    program_await_text(run.program.err, "Shoot: 20 s for the other");
    program_type(&run.program, "o\n");
    program_await_text(run.program.err, "Shot 2: ");
    program_type(&run.program, "o\n");
    end(&run);
    json_t *recording = json_file_load_in(run.out, "recording.json");
    json_t *analysis = json_file_load_in(run.out, "analysis.json");
    const json_t *marks = json_object_get(recording, "marks");
    read_times(json_object_get(analysis, "shots"), &got);
    assert_int_equal(got.n, 3);
    assert_int_equal(json_array_size(marks), 6);
    for (size_t i = 0; i < got.n; i++) {
        const double began_s = get_mark(marks, 2 * i, "clock");
        const double stopped_s = get_mark(marks, 2 * i + 1, "clock-stop");
        assert_true(began_s < got.release_s[i]);
        assert_near(stopped_s, got.release_s[i] + 0.5, RELEASE_PASS_S, 0.0);
        assert_near(got.left_s[i], began_s + 20.0 - got.release_s[i], 1e-6, 0.0);
    }
    json_decref(analysis);
    json_decref(recording);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_set_up_times),
        cmocka_unit_test(test_alternating),
    };
    return cmocka_run_group_tests(tests, scratch_set_up, scratch_tear_down);
}
