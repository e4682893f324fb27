/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "live/room.h"
#include "support/cmocka_all.h"

/* Viewers whose far end is a list of what was written, and that can be made to stand still. */
#define FIRST_SEQ 1000u
#define KEPT_MAX  1024u

struct end {
    pthread_mutex_t lock;
    pthread_cond_t changed;
    char *text[KEPT_MAX];
    size_t n;
    bool is_stalled;
    bool is_cut;
    struct sh_viewer *viewer;
    unsigned id;
};

static enum sh_status write_text(void *context, const char *text, size_t n_bytes)
{
    struct end *end = context;
    (void)pthread_mutex_lock(&end->lock);
    while (end->is_stalled && !end->is_cut) {
        (void)pthread_cond_wait(&end->changed, &end->lock);
    }
    const bool is_cut = end->is_cut;
    if (!is_cut) {
        assert_true(end->n < KEPT_MAX);
        end->text[end->n++] = strndup(text, n_bytes);
        (void)pthread_cond_broadcast(&end->changed);
    }
    (void)pthread_mutex_unlock(&end->lock);
    return is_cut ? SH_ERR_IO : SH_OK;
}

static void cut(void *context)
{
    struct end *end = context;
    (void)pthread_mutex_lock(&end->lock);
    end->is_cut = true;
    (void)pthread_cond_broadcast(&end->changed);
    (void)pthread_mutex_unlock(&end->lock);
}

static struct end *open_end(bool is_stalled)
{
    struct end *end = calloc(1, sizeof *end);
    const struct sh_viewer_sink sink = {write_text, cut, end};
    assert_non_null(end);
    end->is_stalled = is_stalled;
    (void)pthread_mutex_init(&end->lock, NULL);
    (void)pthread_cond_init(&end->changed, NULL);
    assert_int_equal(sh_viewer_open(&sink, &end->viewer), SH_OK);
    return end;
}

static void close_end(struct end *end)
{
    sh_viewer_close(&end->viewer);
    for (size_t i = 0; i < end->n; i++) {
        free(end->text[i]);
    }
    (void)pthread_cond_destroy(&end->changed);
    (void)pthread_mutex_destroy(&end->lock);
    free(end);
}

static struct end *come_in(struct sh_room *room, uint64_t since)
{
    struct end *end = open_end(false);
    end->id = sh_room_enter(room);
    assert_int_not_equal(end->id, 0);
    assert_int_equal(sh_room_join(room, end->id, end->viewer, "{\"type\":\"hello\"}", since),
                     SH_OK);
    return end;
}

static void go(struct sh_room *room, struct end *end)
{
    sh_room_leave(room, end->id);
    close_end(end);
}

/* Waits for the n-th message (0 first), for 5 s at most. */
static const char *await(struct end *end, size_t n)
{
    struct timespec until;
    (void)clock_gettime(CLOCK_REALTIME, &until);
    until.tv_sec += 5;
    (void)pthread_mutex_lock(&end->lock);
    int failure = 0;
    while (end->n <= n && failure == 0) {
        failure = pthread_cond_timedwait(&end->changed, &end->lock, &until);
    }
    const char *text = end->n > n ? end->text[n] : "nothing came";
    (void)pthread_mutex_unlock(&end->lock);
    return text;
}

static void test_all_are_told_and_logged_ones_are_numbered(void **state)
{
    struct sh_room *room = NULL;
    assert_int_equal(sh_room_open(FIRST_SEQ, &room), SH_OK);
    struct end *a = come_in(room, FIRST_SEQ);
    struct end *b = come_in(room, FIRST_SEQ);
    assert_int_equal(sh_room_tell(room, SH_ROOM_ALL, "{\"type\":\"state\"}"), SH_OK);
    assert_int_equal(sh_room_tell(room, SH_ROOM_LOGGED, "{\"type\":\"shot\"}"), SH_OK);
    assert_string_equal(await(a, 0), "{\"type\":\"hello\"}");
    assert_string_equal(await(a, 1), "{\"type\":\"state\"}");
    assert_string_equal(await(a, 2), "{\"seq\":1001,\"type\":\"shot\"}");
    assert_string_equal(await(b, 2), "{\"seq\":1001,\"type\":\"shot\"}");
    assert_int_equal(sh_room_get_seq(room), 1001);
    sh_room_answer(room, b->id, "{\"type\":\"reply\"}");
    sh_room_answer(room, 99, "{\"type\":\"reply\"}");
    assert_string_equal(await(b, 3), "{\"type\":\"reply\"}");
    assert_int_equal(a->n, 3);
    go(room, a);
    go(room, b);
    sh_room_close(&room);
    assert_null(room);
}

static void tell_shots(struct sh_room *room, unsigned n)
{
    for (unsigned i = 0; i < n; i++) {
        assert_int_equal(sh_room_tell(room, SH_ROOM_LOGGED, "{\"type\":\"shot\"}"), SH_OK);
    }
}

static void test_one_who_comes_back_misses_nothing(void **state)
{
    struct sh_room *room = NULL;
    assert_int_equal(sh_room_open(FIRST_SEQ, &room), SH_OK);
    tell_shots(room, 5);
    struct end *end = come_in(room, FIRST_SEQ + 2);
    tell_shots(room, 1);
    assert_string_equal(await(end, 1), "{\"seq\":1003,\"type\":\"shot\"}");
    assert_string_equal(await(end, 2), "{\"seq\":1004,\"type\":\"shot\"}");
    assert_string_equal(await(end, 3), "{\"seq\":1005,\"type\":\"shot\"}");
    assert_string_equal(await(end, 4), "{\"seq\":1006,\"type\":\"shot\"}");
    go(room, end);
    sh_room_close(&room);
}

static void test_log_that_is_too_short_says_reload(void **state)
{
    struct sh_room *room = NULL;
    assert_int_equal(sh_room_open(FIRST_SEQ, &room), SH_OK);
    tell_shots(room, SH_ROOM_LOG_MAX + 1);
    struct end *just = come_in(room, FIRST_SEQ + 1); /* all that the log holds */
    struct end *late = come_in(room, FIRST_SEQ);
    struct end *other = come_in(room, FIRST_SEQ + SH_ROOM_LOG_MAX + 2); /* of another run */
    assert_string_equal(await(just, 1), "{\"seq\":1002,\"type\":\"shot\"}");
    assert_string_equal(await(just, SH_ROOM_LOG_MAX), "{\"seq\":1257,\"type\":\"shot\"}");
    assert_string_equal(await(late, 1), "{\"type\":\"reload\"}");
    assert_string_equal(await(other, 1), "{\"type\":\"reload\"}");
    go(room, just);
    go(room, late);
    go(room, other);
    sh_room_close(&room);
}

static void test_log_has_a_bound_of_bytes(void **state)
{
    struct sh_room *room = NULL;
    const size_t n_bytes = SH_ROOM_LOG_BYTES / 3;
    char *text = calloc(1, n_bytes + 1);
    assert_non_null(text);
    memset(text, ' ', n_bytes);
    text[0] = '{';
    text[n_bytes - 1] = '}';
    assert_int_equal(sh_room_open(FIRST_SEQ, &room), SH_OK);
    for (int i = 0; i < 4; i++) {
        assert_int_equal(sh_room_tell(room, SH_ROOM_LOGGED, text), SH_OK);
    }
    struct end *end = come_in(room, FIRST_SEQ + 1);
    assert_string_equal(await(end, 1), "{\"type\":\"reload\"}");
    go(room, end);
    free(text);
    sh_room_close(&room);
}

static void test_control_is_one_viewers(void **state)
{
    struct sh_room *room = NULL;
    assert_int_equal(sh_room_open(FIRST_SEQ, &room), SH_OK);
    struct end *a = come_in(room, FIRST_SEQ);
    struct end *b = come_in(room, FIRST_SEQ);
    assert_int_equal(sh_room_get_controller(room), a->id);
    sh_room_control(room, b->id, false); /* he has none */
    assert_int_equal(sh_room_get_controller(room), a->id);
    sh_room_control(room, b->id, true);
    assert_int_equal(sh_room_get_controller(room), b->id);
    assert_string_equal(await(a, 1), "{\"type\":\"control\",\"controller\":2}");
    go(room, b);
    assert_int_equal(sh_room_get_controller(room), 0);
    assert_string_equal(await(a, 2), "{\"type\":\"control\",\"controller\":null}");
    struct end *c = come_in(room, FIRST_SEQ);
    assert_int_equal(sh_room_get_controller(room), c->id);
    sh_room_control(room, 2, true); /* who has gone cannot take it */
    assert_int_equal(sh_room_get_controller(room), c->id);
    go(room, a);
    go(room, c);
    sh_room_close(&room);
}

static void test_only_watchers_are_told_of_sensors(void **state)
{
    struct sh_room *room = NULL;
    assert_int_equal(sh_room_open(FIRST_SEQ, &room), SH_OK);
    struct end *a = come_in(room, FIRST_SEQ);
    struct end *b = come_in(room, FIRST_SEQ);
    assert_false(sh_room_is_watched(room));
    sh_room_watch(room, b->id, true);
    assert_true(sh_room_is_watched(room));
    assert_int_equal(sh_room_tell(room, SH_ROOM_WATCHERS, "{\"type\":\"sensor\"}"), SH_OK);
    assert_int_equal(sh_room_tell(room, SH_ROOM_ALL, "{\"type\":\"state\"}"), SH_OK);
    assert_string_equal(await(b, 1), "{\"type\":\"sensor\"}");
    assert_string_equal(await(a, 1), "{\"type\":\"state\"}");
    go(room, b);
    assert_false(sh_room_is_watched(room));
    go(room, a);
    sh_room_close(&room);
}

static void test_room_has_a_bound(void **state)
{
    struct sh_room *room = NULL;
    struct end *end[SH_ROOM_VIEWERS_MAX];
    assert_int_equal(sh_room_open(FIRST_SEQ, &room), SH_OK);
    for (size_t i = 0; i < SH_ROOM_VIEWERS_MAX; i++) {
        end[i] = come_in(room, FIRST_SEQ);
    }
    assert_int_equal(sh_room_enter(room), 0);
    go(room, end[3]);
    end[3] = come_in(room, FIRST_SEQ);
    for (size_t i = 0; i < SH_ROOM_VIEWERS_MAX; i++) {
        go(room, end[i]);
    }
    sh_room_close(&room);
}

static void test_one_who_stands_still_is_cut_and_holds_up_nobody(void **state)
{
    struct sh_room *room = NULL;
    struct timespec before;
    struct timespec after;
    assert_int_equal(sh_room_open(FIRST_SEQ, &room), SH_OK);
    struct end *still = open_end(true);
    still->id = sh_room_enter(room);
    assert_int_equal(sh_room_join(room, still->id, still->viewer, "{}", FIRST_SEQ), SH_OK);
    struct end *other = come_in(room, FIRST_SEQ);
    (void)clock_gettime(CLOCK_MONOTONIC, &before);
    for (unsigned i = 0; i < SH_VIEWER_QUEUE_MAX + 8; i++) {
        assert_int_equal(sh_room_tell(room, SH_ROOM_ALL, "{\"type\":\"state\"}"), SH_OK);
        (void)await(other, i + 1);
    }
    (void)clock_gettime(CLOCK_MONOTONIC, &after);
    assert_true(after.tv_sec - before.tv_sec < 5);
    (void)pthread_mutex_lock(&still->lock);
    assert_true(still->is_cut);
    assert_int_equal(still->n, 0);
    (void)pthread_mutex_unlock(&still->lock);
    go(room, still);
    go(room, other);
    sh_room_close(&room);
}

static void test_what_is_no_object_is_refused(void **state)
{
    struct sh_room *room = NULL;
    assert_int_equal(sh_room_open(FIRST_SEQ, &room), SH_OK);
    assert_int_equal(sh_room_tell(room, SH_ROOM_LOGGED, "[]"), SH_ERR_MEMORY);
    assert_int_equal(sh_room_tell(room, SH_ROOM_LOGGED, "{"), SH_ERR_MEMORY);
    assert_int_equal(sh_room_get_seq(room), FIRST_SEQ);
    assert_int_equal(sh_room_join(room, 7, NULL, "{}", FIRST_SEQ), SH_ERR_ARGUMENT);
    sh_room_close(&room);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_all_are_told_and_logged_ones_are_numbered),
        cmocka_unit_test(test_one_who_comes_back_misses_nothing),
        cmocka_unit_test(test_log_that_is_too_short_says_reload),
        cmocka_unit_test(test_log_has_a_bound_of_bytes),
        cmocka_unit_test(test_control_is_one_viewers),
        cmocka_unit_test(test_only_watchers_are_told_of_sensors),
        cmocka_unit_test(test_room_has_a_bound),
        cmocka_unit_test(test_one_who_stands_still_is_cut_and_holds_up_nobody),
        cmocka_unit_test(test_what_is_no_object_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
