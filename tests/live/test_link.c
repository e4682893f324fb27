/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "live/link.h"

#include <errno.h>
#include <stdio.h>
#include <string.h>
#include <sys/socket.h>
#include <unistd.h>

#include "live/served.h"
#include "support/cmocka_all.h"

static void receive(int end, void *to, size_t n_bytes)
{
    size_t n = 0;
    while (n < n_bytes) {
        ssize_t more = recv(end, (char *)to + n, n_bytes - n, 0);
        assert_true(more > 0);
        n += (size_t)more;
    }
}

/* Reads a head up to its empty line. */
static void receive_head(int end, char *head, size_t n_max)
{
    size_t n = 0;
    do {
        assert_true(n + 1 < n_max);
        receive(end, head + n, 1);
        head[++n] = '\0';
    } while (n < 4 || strcmp(head + n - 4, "\r\n\r\n") != 0);
}

static int open_socket(const struct served *app, const char *pattern)
{
    static char request[SERVED_ANSWER_BYTES];
    char head[1024];
    int end = served_dial(app);
    served_fill_in(app, pattern, request);
    served_send(end, request, strlen(request));
    receive_head(end, head, sizeof head);
    assert_memory_equal(head, "HTTP/1.1 101", 12);
    assert_non_null(strstr(head, "s3pPLMBiTxaQ9kYGzzhZRbK+xOo="));
    assert_null(strstr(head, "permessage-deflate"));
    return end;
}

/* The next text; pings are passed over. */
static void hear(int end, char *text, size_t n_max)
{
    unsigned char head[2];
    unsigned char more[2];
    do {
        receive(end, head, sizeof head);
        size_t n = head[1];
        if (n == 126) {
            receive(end, more, sizeof more);
            n = (size_t)more[0] << 8 | more[1];
        }
        assert_true(n < n_max);
        receive(end, text, n);
        text[n] = '\0';
    } while (head[0] != 0x81);
}

static void say(int end, int first_byte, const char *text)
{
    unsigned char frame[136] = {(unsigned char)first_byte, 0x80, 0, 0, 0, 0};
    const size_t n = strlen(text);
    assert_true(n < 126);
    frame[1] = (unsigned char)(0x80u | n);
    memcpy(frame + 6, text, n);
    served_send(end, (const char *)frame, n + 6);
}

static void test_viewers_are_told_and_obeyed(void **state)
{
    struct served *app = served_open(false);
    char text[4096];
    int a = open_socket(app, UPGRADE("", "http://#"));
    hear(a, text, sizeof text);
    assert_non_null(strstr(text, "{\"type\":\"hello\""));
    assert_non_null(strstr(text, "\"viewer\":1,\"controller\":1,\"seq\":"));
    int b = open_socket(app, UPGRADE("", "http://#"));
    hear(b, text, sizeof text);
    assert_non_null(strstr(text, "\"viewer\":2,\"controller\":1"));
    assert_int_equal(sh_server_tell(app->server, SH_ROOM_ALL, "{\"type\":\"state\"}"), SH_OK);
    hear(a, text, sizeof text);
    assert_string_equal(text, "{\"type\":\"state\"}");
    hear(b, text, sizeof text);
    say(a, 0x81, "{\"id\":7,\"do\":\"note\",\"text\":\"[[[[[[[[[[[[[[[[[[[[\\\\\"}");
    hear(a, text, sizeof text);
    assert_string_equal(text, "{\"type\":\"reply\",\"id\":7,\"ok\":true}");
    assert_string_equal(app->wish, "note");
    assert_int_equal(app->viewer, 1);
    say(a, 0x81, "{\"id\":13,\"do\":\"note\"}");
    hear(a, text, sizeof text);
    assert_non_null(strstr(text, "\"ok\":false,\"error\":\"13: no; take another\""));
    say(b, 0x81, "{\"id\":1,\"do\":\"score\"}");
    hear(b, text, sizeof text);
    assert_non_null(strstr(text, "\"ok\":false,\"error\":\"somebody else is in control"));
    say(b, 0x81, "{\"id\":2,\"do\":\"control\",\"take\":true}");
    hear(b, text, sizeof text);
    assert_string_equal(text, "{\"type\":\"control\",\"controller\":2}");
    hear(a, text, sizeof text);
    assert_string_equal(text, "{\"type\":\"control\",\"controller\":2}");
    say(b, 0x81, "{\"id\":3,\"do\":\"watch\",\"on\":true}");
    hear(b, text, sizeof text); /* of the control */
    hear(b, text, sizeof text);
    assert_true(sh_server_is_watched(app->server));
    (void)close(a);
    (void)close(b);
    served_close(app);
}

static void test_what_was_missed_comes_again(void **state)
{
    struct served *app = served_open(false);
    char text[4096];
    unsigned long long seq = 0;
    char pattern[512];
    int end = open_socket(app, UPGRADE("", "http://#"));
    hear(end, text, sizeof text);
    assert_int_equal(sscanf(strstr(text, "\"seq\":"), "\"seq\":%llu", &seq), 1);
    (void)close(end);
    assert_int_equal(sh_server_tell(app->server, SH_ROOM_LOGGED, "{\"type\":\"shot\"}"), SH_OK);
    (void)snprintf(pattern, sizeof pattern, UPGRADE("?since=%llu", "http://#"), seq);
    end = open_socket(app, pattern);
    hear(end, text, sizeof text);
    hear(end, text, sizeof text);
    assert_non_null(strstr(text, ",\"type\":\"shot\"}"));
    (void)close(end);
    end = open_socket(app, UPGRADE("?since=12x", "http://#"));
    hear(end, text, sizeof text);
    hear(end, text, sizeof text);
    assert_string_equal(text, "{\"type\":\"reload\"}");
    (void)close(end);
    served_close(app);
}

/* True once the other end has closed. */
static bool is_closed(int end)
{
    char bytes[4096];
    ssize_t n = 0;
    do {
        n = recv(end, bytes, sizeof bytes, 0);
    } while (n > 0);
    return n == 0 || errno == ECONNRESET;
}

static void test_socket_is_not_for_other_pages(void **state)
{
    struct served *app = served_open(false);
    char pattern[512];
    assert_int_equal(served_ask_here(app, UPGRADE("", "http://a.example"), NULL), 403);
    (void)snprintf(pattern, sizeof pattern, UPGRADE("", "http://localhost:%u"),
                   sh_server_get_port(app->server));
    assert_int_equal(served_ask_here(app, pattern, NULL),
                     403); /* another name is another page */
    assert_int_equal(served_ask_here(app, UPGRADE("", "null"), NULL), 403);
    assert_int_equal(served_ask_here(app, GET("/ws", "Upgrade: websocket\r\n"), NULL), 403);
    served_close(app);
    app = served_open(true);
    assert_int_equal(served_ask_here(app, UPGRADE("", "http://#"), NULL), 401);
    served_close(app);
}

static void test_nonsense_ends_the_socket(void **state)
{
    static const char *const said[] = {
        "no object",
        "[]",
        "{}",
        "{\"do\":1}",
        "{\"do\":\"a\",\"do\":\"b\"}",
        "{\"do\":\"a\",\"x\":\"\\\\\",\"y\":[[[[[[[[[[[[[[[[[[[[]]]]]]]]]]]]]]]]]]]]}"};
    struct served *app = served_open(false);
    char text[4096];
    for (size_t i = 0; i < sizeof said / sizeof said[0]; i++) {
        int end = open_socket(app, UPGRADE("", "http://#"));
        hear(end, text, sizeof text);
        say(end, 0x81, said[i]);
        assert_true(is_closed(end));
        (void)close(end);
    }
    int end = open_socket(app, UPGRADE("", "http://#"));
    hear(end, text, sizeof text);
    say(end, 0x82, "{\"id\":1,\"do\":\"note\"}"); /* binary */
    assert_true(is_closed(end));
    (void)close(end);
    assert_string_equal(app->wish, "");
    served_close(app);
}

/* By its head alone: nothing waits for what is announced, or sets memory aside for it. */
static void test_too_long_is_not_waited_for(void **state)
{
    static const char huge[] = "\x81\xff\x00\x00\x00\x00\x50\x00\x00\x00";
    static const char longer[] = "\x81\xfe\x40\x01";
    struct served *app = served_open(false);
    char text[4096];
    int end = open_socket(app, UPGRADE("", "http://#"));
    hear(end, text, sizeof text);
    served_send(end, huge, sizeof huge - 1);
    served_send(end, "mask", 4);
    const double before_s = served_now_s();
    assert_true(is_closed(end));
    (void)close(end);
    end = open_socket(app, UPGRADE("", "http://#"));
    hear(end, text, sizeof text);
    served_send(end, longer, sizeof longer - 1);
    served_send(end, "mask", 4);
    assert_true(is_closed(end));
    assert_true(served_now_s() - before_s < 2.0);
    (void)close(end);
    served_close(app);
}

static void test_ping_is_answered(void **state)
{
    struct served *app = served_open(false);
    char text[4096];
    unsigned char head[2];
    int end = open_socket(app, UPGRADE("", "http://#"));
    hear(end, text, sizeof text);
    say(end, 0x89, "are you there");
    receive(end, head, sizeof head);
    assert_int_equal(head[0], 0x8a);
    assert_int_equal(head[1], 13);
    receive(end, text, 13);
    assert_memory_equal(text, "are you there", 13);
    say(end, 0x88, "\x03\xe8");
    receive(end, head, sizeof head);
    assert_int_equal(head[0], 0x88);
    assert_true(is_closed(end));
    (void)close(end);
    served_close(app);
}

static void test_one_viewer_too_many_is_closed(void **state)
{
    struct served *app = served_open(false);
    char text[4096];
    int end[SH_ROOM_VIEWERS_MAX];
    for (size_t i = 0; i < SH_ROOM_VIEWERS_MAX; i++) {
        end[i] = open_socket(app, UPGRADE("", "http://#"));
        hear(end[i], text, sizeof text);
    }
    int more = open_socket(app, UPGRADE("", "http://#"));
    assert_true(is_closed(more));
    (void)close(more);
    assert_int_equal(served_ask_here(app, GET("/", ""), NULL), 200);
    for (size_t i = 0; i < SH_ROOM_VIEWERS_MAX; i++) {
        (void)close(end[i]);
    }
    served_close(app);
}

static void test_stalled_viewer_holds_up_nothing(void **state)
{
    static char big[8192];
    struct served *app = served_open(false);
    char text[4096];
    double longest_s = 0.0;
    int end = open_socket(app, UPGRADE("", "http://#"));
    hear(end, text, sizeof text);
    (void)snprintf(big, sizeof big, "{\"type\":\"%0*d\"}", 8000, 1);
    for (int i = 0; i < 4000; i++) { /* 32 MB, and nobody reads */
        const double before_s = served_now_s();
        assert_int_equal(sh_server_tell(app->server, SH_ROOM_ALL, big), SH_OK);
        const double took_s = served_now_s() - before_s;
        longest_s = took_s > longest_s ? took_s : longest_s;
    }
    assert_true(longest_s < 0.5);
    assert_true(is_closed(end)); /* after what was on its way */
    (void)close(end);
    end = open_socket(app, UPGRADE("", "http://#"));
    hear(end, text, sizeof text);
    assert_non_null(strstr(text, "\"type\":\"hello\""));
    (void)close(end);
    served_close(app);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_viewers_are_told_and_obeyed),
        cmocka_unit_test(test_what_was_missed_comes_again),
        cmocka_unit_test(test_socket_is_not_for_other_pages),
        cmocka_unit_test(test_nonsense_ends_the_socket),
        cmocka_unit_test(test_too_long_is_not_waited_for),
        cmocka_unit_test(test_ping_is_answered),
        cmocka_unit_test(test_one_viewer_too_many_is_closed),
        cmocka_unit_test(test_stalled_viewer_holds_up_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
