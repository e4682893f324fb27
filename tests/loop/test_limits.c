/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "app/sensor_file.h"
#include "loop/program.h"
#include "recording/recording_reader.h"
#include "recording/session_json.h"
#include "sensor/profile_format.h"
#include "support/cmocka_all.h"
#include "support/near.h"

/*
 * A simulated finger sensor is fed to the real program by hand, byte by byte as far as the test
 * wants: what has been shown can be told from how many samples have been sent, no clock needed.
 */
#define LATE_S  0.2  /* a limit is shown within so much of the sample that crossed it */
#define RING_N  30.0 /* the limit on the ring finger's force */
#define MEAN    20u  /* samples of its mean */
#define RATE_HZ 1000.0
#define DRAWS   1u
#define CROSSED (RING_N / 1.021) /* 2 u of 1 % and of the rest level */

struct rig {
    struct scratch scratch;
    char bytes[SCRATCH_PATH_BYTES];   /* what the sensor sends */
    char profile[SCRATCH_PATH_BYTES]; /* how it is read */
    char folder[SCRATCH_PATH_BYTES];  /* of the recording */
    double *ring_n;                   /* the ring finger's force, frame by frame */
    size_t n_frames;
    size_t crossing; /* the first frame whose mean has surely crossed */
};

static void run_limits(const struct rig *rig, const char *const *words)
{
    struct program program;
    assert_int_equal(program_run(&program, &rig->scratch, "limits", words), 0);
}

static enum sh_status
keep_ring(void *context, const struct sh_block *block, struct sh_error *err)
{
    struct rig *rig = context;
    (void)err;
    double *grown = realloc(rig->ring_n, (rig->n_frames + block->n_frames) * sizeof *grown);
    assert_non_null(grown);
    rig->ring_n = grown;
    for (size_t i = 0; i < block->n_frames; i++) {
        grown[rig->n_frames++] = block->raw[i * block->n_channels + 2];
    }
    return SH_OK;
}

static enum sh_status
pass_anchor(void *context, size_t stream, const struct sh_anchor *anchor, struct sh_error *err)
{
    (void)context;
    (void)stream;
    (void)anchor;
    (void)err;
    return SH_OK;
}

/* Counts to newtons above the first second's level; where the 20 ms mean crosses. */
static void find_crossing(struct rig *rig, const struct sh_channel *channel)
{
    double rest = 0.0;
    for (size_t i = 0; i < 1000; i++) {
        rest += rig->ring_n[i] / 1000.0;
    }
    double sum = 0.0;
    for (size_t i = 0; i < rig->n_frames; i++) {
        rig->ring_n[i] = (rig->ring_n[i] - rest) * channel->scale;
        sum += rig->ring_n[i] - (i >= MEAN ? rig->ring_n[i - MEAN] : 0.0);
        if (rig->crossing == 0 && sum / (double)MEAN >= CROSSED) {
            rig->crossing = i;
        }
    }
    assert_true(rig->crossing > 1000);
}

/* A sensor of the three fingers alone, so that a line is a frame. */
static void make_sensor(struct rig *rig)
{
    struct sh_simulation simulation;
    struct sh_error err = {0};
    sensor_file_open_simulation("fingers", DRAWS, &simulation);
    struct sh_profile *profile = sensor_file_make_profile(&simulation);
    const struct sh_block_sink sink = {keep_ring, pass_anchor, rig};
    assert_int_equal(profile->n_streams, 1);
    assert_int_equal(sh_profile_format_write(profile, rig->profile, &err), SH_OK);
    (void)sensor_file_write(&simulation, 0.0, rig->bytes);
    sensor_file_sample(&simulation, &sink);
    find_crossing(rig, &profile->streams[0].stream.channel[2]);
    free(profile);
    sh_simulation_close(&simulation);
}

static int open_rig(void **state)
{
    struct rig *rig = calloc(1, sizeof *rig);
    assert_non_null(rig);
    scratch_open(&rig->scratch);
    scratch_path(&rig->scratch, "bytes", rig->bytes);
    scratch_path(&rig->scratch, "sensor.ini", rig->profile);
    scratch_path(&rig->scratch, "evening", rig->folder);
    make_sensor(rig);
    const char *words[] = {"limits", "wren",          "--home",   rig->scratch.folder,
                           "--set",  "finger_peak_n", "--finger", "ring",
                           "--per",  "shot",          "--most",   "30N",
                           "--by",   "hand clinic",   NULL};
    run_limits(rig, words);
    *state = rig;
    return 0;
}

static int close_rig(void **state)
{
    struct rig *rig = *state;
    scratch_close(&rig->scratch);
    free(rig->ring_n);
    free(rig);
    return 0;
}

/* Where frame n ends in the bytes: a line each, behind the lines that are none. */
static size_t find_end(const char *bytes, size_t n_bytes, size_t n_frames)
{
    size_t n = 0;
    for (size_t i = 0; i < n_bytes; i++) {
        n += bytes[i] == '\n' ? 1 : 0;
        if (n == n_frames) {
            return i + 1;
        }
    }
    fail_msg("there are only %zu lines", n);
    return 0;
}

static void send(const struct program *program, const char *bytes, size_t n_bytes)
{
    size_t n_sent = 0;
    while (n_sent < n_bytes) {
        ssize_t n = write(program->keys, bytes + n_sent, n_bytes - n_sent);
        assert_true(n > 0);
        n_sent += (size_t)n;
    }
}

static void read_marks(const struct rig *rig, struct sh_session *session)
{
    struct sh_error err = {0};
    assert_int_equal(sh_session_json_read(rig->folder, session, NULL, &err), SH_OK);
}

static const struct sh_mark *find_mark(const struct sh_session *session, enum sh_mark_kind kind)
{
    for (size_t i = 0; i < session->n_marks; i++) {
        if (session->marks[i].kind == kind) {
            return &session->marks[i];
        }
    }
    return NULL;
}

/*
 * Samples up to 200 ms behind the one that crosses, and not one more: the warning stands on the
 * screen. Then the program is killed, and the limit and that it was reached stand in the
 * recording, at the time of that sample.
 */
static void test_shown_within_200_ms_and_kept_after_a_kill(void **state)
{
    struct rig *rig = *state;
    struct program program;
    static struct sh_session session;
    size_t n_bytes = 0;
    char *bytes = scratch_read(rig->bytes, &n_bytes);
    const char *words[] = {"capture",  "--sensor",  rig->profile, "--port", "-",
                           "--replay", "--athlete", "wren",       "--home", rig->scratch.folder,
                           "--out",    rig->folder, NULL};
    const struct program_config config = {
        .scratch = &rig->scratch, .name = "capture", .words = words, .has_keys = true};
    const size_t n_late = (size_t)(LATE_S * RATE_HZ);
    program_start(&program, &config);
    send(&program, bytes, find_end(bytes, n_bytes, rig->crossing + n_late));
    program_await_text(program.err, "LIMIT: The limit of at most 30 N");
    assert_int_equal(kill(program.pid, SIGKILL), 0);
    assert_int_equal(program_wait(&program), 128 + SIGKILL);
    read_marks(rig, &session);
    const struct sh_mark *limit = find_mark(&session, SH_MARK_LIMIT);
    const struct sh_mark *reached = find_mark(&session, SH_MARK_LIMIT_REACHED);
    const struct sh_mark *near = find_mark(&session, SH_MARK_WARNING);
    assert_non_null(limit);
    assert_non_null(reached);
    assert_non_null(near);
    assert_near(limit->most.value, 30.0, 0, 0);
    assert_string_equal(limit->set_by, "hand clinic");
    assert_string_equal(reached->finger, "ring");
    assert_true(near->t_s < reached->t_s);
    assert_near(reached->t_s, (double)rig->crossing / RATE_HZ, 0.02, 0);
    assert_non_null(strstr(reached->text, "was reached"));
    sh_session_close(&session);
    free(bytes);
}

/*
 * The archers take turns: what wren's first recording added up to is what her second begins
 * with, though nothing has been analysed in between.
 */
static void test_a_day_goes_on_in_the_next_recording(void **state)
{
    struct rig *rig = *state;
    struct program sensor;
    struct program program;
    static struct sh_session session;
    char link[SCRATCH_PATH_BYTES];
    char later[SCRATCH_PATH_BYTES];
    char file[SCRATCH_PATH_BYTES];
    struct sh_error err = {0};
    scratch_path(&rig->scratch, "port", link);
    scratch_path(&rig->scratch, "turns-2", later);
    scratch_path(&rig->scratch, "turns-2/recording.json", file);
    scratch_path(&rig->scratch, "turns", rig->folder);
    const char *set[] = {"limits", "wren",  "--home", rig->scratch.folder,
                         "--set",  "draws", "--per",  "day",
                         "--most", "60",    NULL};
    const char *simulate[] = {"simulate", "--pty", "--link",  link, "--set", "fingers",
                              "--speed",  "20",    "--draws", "8",  NULL};
    const char *words[] = {"capture",  "--sensor",  rig->profile, "--port", link,
                           "--replay", "--athlete", "wren",       "--home", rig->scratch.folder,
                           "--out",    rig->folder, NULL};
    const struct program_config sending = {
        .scratch = &rig->scratch, .name = "sensor", .words = simulate};
    const struct program_config config = {
        .scratch = &rig->scratch, .name = "turns", .words = words, .has_keys = true};
    run_limits(rig, set);
    program_start(&sensor, &sending);
    program_await_file(link);
    program_start(&program, &config);
    program_await_text(program.err, "Shot 1:");
    program_type(&program, "a rook\na wren\n");
    program_await_file(file);
    program_type(&program, "q\n");
    assert_int_equal(program_wait(&program), 0);
    (void)program_wait(&sensor);
    assert_int_equal(sh_session_json_read(later, &session, NULL, &err), SH_OK);
    const struct sh_mark *limit = NULL;
    for (size_t i = 0; i < session.n_marks; i++) {
        limit = strcmp(session.marks[i].what, "draws") == 0 ? &session.marks[i] : limit;
    }
    assert_non_null(limit);
    assert_int_equal(limit->kind, SH_MARK_LIMIT);
    assert_true(limit->before.value >= 1.0);
    assert_false(limit->before_unknown.is_given);
    sh_session_close(&session);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_shown_within_200_ms_and_kept_after_a_kill),
        cmocka_unit_test(test_a_day_goes_on_in_the_next_recording),
    };
    (void)signal(SIGPIPE, SIG_IGN);
    return cmocka_run_group_tests(tests, open_rig, close_rig);
}
