/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <arpa/inet.h>
#include <errno.h>
#include <netinet/in.h>
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/time.h>
#include <time.h>
#include <unistd.h>

#include "live/server.h"
#include "support/cmocka_all.h"

#define ANSWER_BYTES 65536u

static double now_s(void)
{
    struct timespec now = {0};
    (void)clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

/* An app that says little, and keeps what it was told. */
struct app {
    struct sh_server *server;
    pthread_mutex_t lock;
    char code[16];
    char wish[64];
    unsigned viewer;
};

static void put_hello(void *context, struct sh_text *text)
{
    (void)context;
    sh_text_puts(text, ",\"mode\":\"review\"");
}

static int get(void *context, const char *path, const char *query, struct sh_text *text)
{
    (void)context;
    if (strcmp(path, "/api/echo") != 0) {
        return 404;
    }
    sh_text_printf(text, "{\"query\":\"%s\"}", query);
    return 200;
}

static void take_command(void *context, unsigned viewer, json_int_t id, const json_t *object)
{
    struct app *app = context;
    (void)pthread_mutex_lock(&app->lock);
    app->viewer = viewer;
    (void)snprintf(app->wish, sizeof app->wish, "%s",
                   json_string_value(json_object_get(object, "do")));
    (void)pthread_mutex_unlock(&app->lock);
    sh_server_reply(app->server, viewer, id, id == 13 ? "13: no; take another" : NULL);
}

static void keep_code(void *context, const char *code)
{
    struct app *app = context;
    (void)snprintf(app->code, sizeof app->code, "%s", code);
}

static struct app *open_app(bool is_open)
{
    struct app *app = calloc(1, sizeof *app);
    struct sh_error err = {.status = SH_OK};
    assert_non_null(app);
    (void)pthread_mutex_init(&app->lock, NULL);
    const struct sh_server_config config = {.port = 0, .is_open = is_open};
    const struct sh_server_content content = {.hello = put_hello,
                                              .get = get,
                                              .command = take_command,
                                              .code = keep_code,
                                              .context = app};
    assert_int_equal(sh_server_open(&config, &content, &app->server, &err), SH_OK);
    assert_in_range(sh_server_get_port(app->server), 1, 65535);
    return app;
}

static void close_app(struct app *app)
{
    sh_server_close(&app->server);
    assert_null(app->server);
    (void)pthread_mutex_destroy(&app->lock);
    free(app);
}

static int dial(const struct app *app)
{
    const struct sockaddr_in to = {.sin_family = AF_INET,
                                   .sin_port = htons((uint16_t)sh_server_get_port(app->server)),
                                   .sin_addr = {htonl(INADDR_LOOPBACK)}};
    const struct timeval patience = {.tv_sec = 20};
    int end = socket(AF_INET, SOCK_STREAM, 0);
    assert_true(end >= 0);
    (void)setsockopt(end, SOL_SOCKET, SO_RCVTIMEO, &patience, sizeof patience);
    assert_int_equal(connect(end, (const struct sockaddr *)&to, sizeof to), 0);
    return end;
}

static void send_all(int end, const char *bytes, size_t n_bytes)
{
    assert_int_equal(send(end, bytes, n_bytes, MSG_NOSIGNAL), n_bytes);
}

/* Sends a request as it is and gives the status; answer (may be NULL) gets all of it. */
static int ask(const struct app *app, const char *request, char *answer)
{
    static char kept[ANSWER_BYTES];
    char *to = answer != NULL ? answer : kept;
    size_t n = 0;
    int end = dial(app);
    send_all(end, request, strlen(request));
    for (;;) {
        ssize_t more = recv(end, to + n, ANSWER_BYTES - 1 - n, 0);
        if (more <= 0) {
            break;
        }
        n += (size_t)more;
    }
    to[n] = '\0';
    (void)close(end);
    return strncmp(to, "HTTP/1.1 ", 9) == 0 ? atoi(to + 9) : 0;
}

/* Fills in this server: each '#' of a pattern becomes "127.0.0.1:PORT". */
static void fill_in(const struct app *app, const char *pattern, char request[ANSWER_BYTES])
{
    size_t n = 0;
    for (const char *at = pattern; *at != '\0'; at++) {
        if (*at == '#') {
            n += (size_t)snprintf(request + n, ANSWER_BYTES - n, "127.0.0.1:%u",
                                  sh_server_get_port(app->server));
        } else {
            request[n++] = *at;
        }
    }
    request[n] = '\0';
}

static int ask_here(const struct app *app, const char *pattern, char *answer)
{
    static char request[ANSWER_BYTES];
    fill_in(app, pattern, request);
    return ask(app, request, answer);
}

#define GET(path, more) "GET " path " HTTP/1.1\r\nHost: #\r\n" more "\r\n"

static void test_own_page_is_answered(void **state)
{
    static char answer[ANSWER_BYTES];
    struct app *app = open_app(false);
    assert_int_equal(ask_here(app, GET("/", ""), answer), 200);
    assert_non_null(strstr(answer, "<!doctype html>"));
    assert_non_null(strstr(answer, "default-src 'none'; script-src 'self'"));
    assert_non_null(strstr(answer, "frame-ancestors 'none'"));
    assert_non_null(strstr(answer, "X-Content-Type-Options: nosniff"));
    assert_null(strstr(answer, "Access-Control-Allow"));
    assert_int_equal(ask_here(app, GET("/api/hello", ""), answer), 200);
    assert_non_null(strstr(answer, "\"viewer\":null,\"controller\":null"));
    assert_non_null(strstr(answer, "\"mode\":\"review\"}"));
    assert_int_equal(ask_here(app, GET("/api/echo?from=1&to=2", ""), answer), 200);
    assert_non_null(strstr(answer, "{\"query\":\"from=1&to=2\"}"));
    assert_int_equal(ask_here(app, GET("/api/echo", "Sec-Fetch-Site: same-origin\r\n"), NULL),
                     200);
    close_app(app);
}

static void test_strangers_are_refused(void **state)
{
    struct app *app = open_app(false);
    const unsigned port = sh_server_get_port(app->server);
    char request[256];
    (void)snprintf(request, sizeof request, "GET / HTTP/1.1\r\nHost: quarry.example:%u\r\n\r\n",
                   port);
    assert_int_equal(ask(app, request, NULL), 403);
    assert_int_equal(ask(app, "GET / HTTP/1.1\r\n\r\n", NULL), 403);
    assert_int_equal(ask(app, "GET / HTTP/1.1\r\nHost: 127.0.0.1:1\r\n\r\n", NULL), 403);
    (void)snprintf(request, sizeof request,
                   "GET http://quarry.example/ HTTP/1.1\r\nHost: quarry.example:%u\r\n\r\n",
                   port);
    assert_int_not_equal(ask(app, request, NULL), 200);
    assert_int_equal(ask_here(app, GET("/api/echo", "Sec-Fetch-Site: cross-site\r\n"), NULL),
                     403);
    assert_int_equal(ask_here(app, GET("/api/echo", "Sec-Fetch-Site: same-site\r\n"), NULL),
                     403);
    assert_int_equal(ask_here(app,
                              "OPTIONS / HTTP/1.1\r\nHost: #\r\nOrigin: http://a.example\r\n"
                              "Access-Control-Request-Method: POST\r\n\r\n",
                              NULL),
                     405);
    assert_int_equal(
        ask_here(app, "PUT /x HTTP/1.1\r\nHost: #\r\nContent-Length: 1\r\n\r\nx", NULL), 405);
    assert_int_equal(ask_here(app, "DELETE / HTTP/1.1\r\nHost: #\r\n\r\n", NULL), 405);
    close_app(app);
}

static void test_paths_lead_nowhere_else(void **state)
{
    struct app *app = open_app(false);
    assert_int_equal(ask_here(app, GET("/nothing", ""), NULL), 404);
    assert_int_equal(ask_here(app, GET("/../../etc/passwd", ""), NULL), 404);
    assert_int_equal(ask_here(app, GET("/%2e%2e/%2e%2e/etc/passwd", ""), NULL), 404);
    assert_int_equal(ask_here(app, GET("/..\\..\\etc\\passwd", ""), NULL), 404);
    assert_int_equal(ask_here(app, GET("/api/../../etc/passwd", ""), NULL), 404);
    assert_int_equal(ask_here(app, GET("/page.cgi", ""), NULL), 404);
    assert_int_equal(ask_here(app, GET("/api/", ""), NULL), 404);
    assert_int_equal(ask_here(app, GET("/ws", ""), NULL), 426);
    assert_int_not_equal(ask_here(app, GET("*", ""), NULL), 200);
    close_app(app);
}

#define POST_FROM(origin, type, length, body)                                                  \
    "POST /pair HTTP/1.1\r\nHost: #\r\nOrigin: " origin "\r\nContent-Type: " type              \
    "\r\nContent-Length: " length "\r\n\r\n" body

static void test_pairing_wants_the_code(void **state)
{
    static char answer[ANSWER_BYTES];
    struct app *app = open_app(true);
    char request[512];
    char cookie[64];
    assert_int_equal(strlen(app->code), 6);
    assert_int_equal(ask_here(app, GET("/", ""), NULL), 200);
    assert_int_equal(ask_here(app, GET("/api/hello", ""), NULL), 401);
    assert_int_equal(ask_here(app, GET("/api/hello", "Cookie: stringhand=1\r\n"), NULL), 401);
    assert_int_equal(ask_here(app,
                              POST_FROM("http://a.example", "application/json", "17",
                                        "{\"code\":\"000000\"}"),
                              NULL),
                     403);
    assert_int_equal(
        ask_here(app, POST_FROM("http://#", "text/plain", "17", "{\"code\":\"000000\"}"), NULL),
        415);
    assert_int_equal(ask_here(app, POST_FROM("http://#", "application/json", "257", ""), NULL),
                     413);
    assert_int_equal(
        ask_here(app, POST_FROM("http://#", "application/json", "99999999999", ""), NULL), 413);
    assert_int_equal(ask_here(app, POST_FROM("http://#", "application/json", "2", "[]"), NULL),
                     400);
    assert_int_equal(
        ask_here(app, POST_FROM("http://#", "application/json", "14", "{\"code\":\"none\"}"),
                 NULL),
        400);
    assert_int_equal(
        ask_here(app, POST_FROM("http://#", "application/json", "15", "{\"code\":\"none\"}"),
                 NULL),
        403);
    (void)snprintf(request, sizeof request,
                   POST_FROM("http://#", "application/json", "17", "{\"code\":\"%s\"}"),
                   app->code);
    assert_int_equal(ask_here(app, request, answer), 200);
    const char *set = strstr(answer, "Set-Cookie: stringhand_");
    assert_non_null(set);
    assert_non_null(strstr(set, "; Path=/; HttpOnly; SameSite=Strict\r\n"));
    assert_int_equal(sscanf(set, "Set-Cookie: %63[^;]", cookie), 1);
    (void)snprintf(request, sizeof request, GET("/api/hello", "Cookie: a=b; %s\r\n"), cookie);
    assert_int_equal(ask_here(app, request, answer), 200);
    assert_non_null(strstr(answer, "\"is_open\":true"));
    close_app(app);
}

static void test_guessing_is_slowed_down(void **state)
{
    static char answer[ANSWER_BYTES];
    struct app *app = open_app(true);
    unsigned n_wrong = 0;
    char request[512];
    for (int i = 0; i < 100; i++) {
        int status = ask_here(
            app, POST_FROM("http://#", "application/json", "15", "{\"code\":\"none\"}"),
            answer);
        n_wrong += status == 403;
        assert_true(status == 403 || status == 429);
    }
    assert_in_range(n_wrong, 4, 6); /* three for nothing, and one a growing wait */
    assert_non_null(strstr(answer, "Retry-After: "));
    (void)snprintf(request, sizeof request,
                   POST_FROM("http://#", "application/json", "17", "{\"code\":\"%s\"}"),
                   app->code);
    assert_int_equal(ask_here(app, request, NULL), 429);
    close_app(app);
}

static void test_sizes_have_bounds(void **state)
{
    static char request[ANSWER_BYTES];
    struct app *app = open_app(false);
    (void)snprintf(request, sizeof request, "GET /%0*d HTTP/1.1\r\nHost: #\r\n\r\n", 20000, 1);
    assert_int_not_equal(ask_here(app, request, NULL), 200);
    (void)snprintf(request, sizeof request, "GET / HTTP/1.1\r\nHost: #\r\nX: %0*d\r\n\r\n",
                   20000, 1);
    assert_int_not_equal(ask_here(app, request, NULL), 200);
    assert_int_equal(ask_here(app, GET("/", ""), NULL), 200);
    close_app(app);
}

/* What nobody wants is not waited for: 5 s each it once was. */
static void test_bodies_are_not_waited_for(void **state)
{
    struct app *app = open_app(false);
    const double before_s = now_s();
    assert_int_equal(ask_here(app, GET("/", "Content-Length: 1000000\r\n"), NULL), 200);
    assert_int_equal(ask_here(app, GET("/api/echo", "Transfer-Encoding: chunked\r\n"), NULL),
                     200);
    assert_int_equal(
        ask_here(app, "PUT / HTTP/1.1\r\nHost: #\r\nContent-Length: 9\r\n\r\n", NULL), 405);
    assert_true(now_s() - before_s < 3.0);
    close_app(app);
}

#define UPGRADE(query, origin)                                                                 \
    "GET /ws" query " HTTP/1.1\r\nHost: #\r\nUpgrade: websocket\r\nConnection: "               \
    "Upgrade\r\nSec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==\r\nSec-WebSocket-Version: "        \
    "13\r\nSec-WebSocket-Extensions: permessage-deflate\r\nOrigin: " origin "\r\n\r\n"

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

static int open_socket(const struct app *app, const char *pattern)
{
    static char request[ANSWER_BYTES];
    char head[1024];
    int end = dial(app);
    fill_in(app, pattern, request);
    send_all(end, request, strlen(request));
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
    send_all(end, (const char *)frame, n + 6);
}

static void test_viewers_are_told_and_obeyed(void **state)
{
    struct app *app = open_app(false);
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
    close_app(app);
}

static void test_what_was_missed_comes_again(void **state)
{
    struct app *app = open_app(false);
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
    close_app(app);
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
    struct app *app = open_app(false);
    char pattern[512];
    assert_int_equal(ask_here(app, UPGRADE("", "http://a.example"), NULL), 403);
    (void)snprintf(pattern, sizeof pattern, UPGRADE("", "http://localhost:%u"),
                   sh_server_get_port(app->server));
    assert_int_equal(ask_here(app, pattern, NULL), 403); /* another name is another page */
    assert_int_equal(ask_here(app, UPGRADE("", "null"), NULL), 403);
    assert_int_equal(ask_here(app, GET("/ws", "Upgrade: websocket\r\n"), NULL), 403);
    close_app(app);
    app = open_app(true);
    assert_int_equal(ask_here(app, UPGRADE("", "http://#"), NULL), 401);
    close_app(app);
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
    struct app *app = open_app(false);
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
    close_app(app);
}

/* By its head alone: nothing waits for what is announced, or sets memory aside for it. */
static void test_too_long_is_not_waited_for(void **state)
{
    static const char huge[] = "\x81\xff\x00\x00\x00\x00\x50\x00\x00\x00";
    static const char longer[] = "\x81\xfe\x40\x01";
    struct app *app = open_app(false);
    char text[4096];
    int end = open_socket(app, UPGRADE("", "http://#"));
    hear(end, text, sizeof text);
    send_all(end, huge, sizeof huge - 1);
    send_all(end, "mask", 4);
    const double before_s = now_s();
    assert_true(is_closed(end));
    (void)close(end);
    end = open_socket(app, UPGRADE("", "http://#"));
    hear(end, text, sizeof text);
    send_all(end, longer, sizeof longer - 1);
    send_all(end, "mask", 4);
    assert_true(is_closed(end));
    assert_true(now_s() - before_s < 2.0);
    (void)close(end);
    close_app(app);
}

static void test_ping_is_answered(void **state)
{
    struct app *app = open_app(false);
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
    close_app(app);
}

static void test_one_viewer_too_many_is_closed(void **state)
{
    struct app *app = open_app(false);
    char text[4096];
    int end[SH_ROOM_VIEWERS_MAX];
    for (size_t i = 0; i < SH_ROOM_VIEWERS_MAX; i++) {
        end[i] = open_socket(app, UPGRADE("", "http://#"));
        hear(end[i], text, sizeof text);
    }
    int more = open_socket(app, UPGRADE("", "http://#"));
    assert_true(is_closed(more));
    (void)close(more);
    assert_int_equal(ask_here(app, GET("/", ""), NULL), 200);
    for (size_t i = 0; i < SH_ROOM_VIEWERS_MAX; i++) {
        (void)close(end[i]);
    }
    close_app(app);
}

static void test_stalled_viewer_holds_up_nothing(void **state)
{
    static char big[8192];
    struct app *app = open_app(false);
    char text[4096];
    double longest_s = 0.0;
    int end = open_socket(app, UPGRADE("", "http://#"));
    hear(end, text, sizeof text);
    (void)snprintf(big, sizeof big, "{\"type\":\"%0*d\"}", 8000, 1);
    for (int i = 0; i < 4000; i++) { /* 32 MB, and nobody reads */
        const double before_s = now_s();
        assert_int_equal(sh_server_tell(app->server, SH_ROOM_ALL, big), SH_OK);
        const double took_s = now_s() - before_s;
        longest_s = took_s > longest_s ? took_s : longest_s;
    }
    assert_true(longest_s < 0.5);
    assert_true(is_closed(end)); /* after what was on its way */
    (void)close(end);
    end = open_socket(app, UPGRADE("", "http://#"));
    hear(end, text, sizeof text);
    assert_non_null(strstr(text, "\"type\":\"hello\""));
    (void)close(end);
    close_app(app);
}

static void test_taken_port_is_said(void **state)
{
    struct app *app = open_app(false);
    struct sh_server *second = NULL;
    struct sh_error err = {.status = SH_OK};
    const struct sh_server_config config = {.port = sh_server_get_port(app->server)};
    const struct sh_server_content content = {.hello = put_hello,
                                              .get = get,
                                              .command = take_command,
                                              .code = keep_code,
                                              .context = app};
    assert_int_equal(sh_server_open(&config, &content, &second, &err), SH_ERR_BUSY);
    assert_null(second);
    assert_non_null(strstr(err.todo, "take another"));
    close_app(app);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_own_page_is_answered),
        cmocka_unit_test(test_strangers_are_refused),
        cmocka_unit_test(test_paths_lead_nowhere_else),
        cmocka_unit_test(test_pairing_wants_the_code),
        cmocka_unit_test(test_guessing_is_slowed_down),
        cmocka_unit_test(test_sizes_have_bounds),
        cmocka_unit_test(test_bodies_are_not_waited_for),
        cmocka_unit_test(test_viewers_are_told_and_obeyed),
        cmocka_unit_test(test_what_was_missed_comes_again),
        cmocka_unit_test(test_socket_is_not_for_other_pages),
        cmocka_unit_test(test_nonsense_ends_the_socket),
        cmocka_unit_test(test_too_long_is_not_waited_for),
        cmocka_unit_test(test_ping_is_answered),
        cmocka_unit_test(test_one_viewer_too_many_is_closed),
        cmocka_unit_test(test_stalled_viewer_holds_up_nothing),
        cmocka_unit_test(test_taken_port_is_said),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
