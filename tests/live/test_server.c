/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <stdio.h>
#include <string.h>

#include "live/served.h"
#include "support/cmocka_all.h"

static void test_own_page_is_answered(void **state)
{
    static char answer[SERVED_ANSWER_BYTES];
    struct served *app = served_open(false);
    assert_int_equal(served_ask_here(app, GET("/", ""), answer), 200);
    assert_non_null(strstr(answer, "<!doctype html>"));
    assert_non_null(strstr(answer, "default-src 'none'; script-src 'self'"));
    assert_non_null(strstr(answer, "frame-ancestors 'none'"));
    assert_non_null(strstr(answer, "X-Content-Type-Options: nosniff"));
    assert_null(strstr(answer, "Access-Control-Allow"));
    assert_int_equal(served_ask_here(app, GET("/api/hello", ""), answer), 200);
    assert_non_null(strstr(answer, "\"viewer\":null,\"controller\":null"));
    assert_non_null(strstr(answer, "\"mode\":\"review\"}"));
    assert_int_equal(served_ask_here(app, GET("/api/echo?from=1&to=2", ""), answer), 200);
    assert_non_null(strstr(answer, "{\"query\":\"from=1&to=2\"}"));
    assert_int_equal(
        served_ask_here(app, GET("/api/echo", "Sec-Fetch-Site: same-origin\r\n"), NULL), 200);
    served_close(app);
}

static void test_strangers_are_refused(void **state)
{
    struct served *app = served_open(false);
    const unsigned port = sh_server_get_port(app->server);
    char request[256];
    (void)snprintf(request, sizeof request, "GET / HTTP/1.1\r\nHost: quarry.example:%u\r\n\r\n",
                   port);
    assert_int_equal(served_ask(app, request, NULL), 403);
    assert_int_equal(served_ask(app, "GET / HTTP/1.1\r\n\r\n", NULL), 403);
    assert_int_equal(served_ask(app, "GET / HTTP/1.1\r\nHost: 127.0.0.1:1\r\n\r\n", NULL), 403);
    (void)snprintf(request, sizeof request,
                   "GET http://quarry.example/ HTTP/1.1\r\nHost: quarry.example:%u\r\n\r\n",
                   port);
    assert_int_not_equal(served_ask(app, request, NULL), 200);
    assert_int_equal(
        served_ask_here(app, GET("/api/echo", "Sec-Fetch-Site: cross-site\r\n"), NULL), 403);
    assert_int_equal(
        served_ask_here(app, GET("/api/echo", "Sec-Fetch-Site: same-site\r\n"), NULL), 403);
    assert_int_equal(
        served_ask_here(app,
                        "OPTIONS / HTTP/1.1\r\nHost: #\r\nOrigin: http://a.example\r\n"
                        "Access-Control-Request-Method: POST\r\n\r\n",
                        NULL),
        405);
    assert_int_equal(
        served_ask_here(app, "PUT /x HTTP/1.1\r\nHost: #\r\nContent-Length: 1\r\n\r\nx", NULL),
        405);
    assert_int_equal(served_ask_here(app, "DELETE / HTTP/1.1\r\nHost: #\r\n\r\n", NULL), 405);
    served_close(app);
}

static void test_paths_lead_nowhere_else(void **state)
{
    struct served *app = served_open(false);
    assert_int_equal(served_ask_here(app, GET("/nothing", ""), NULL), 404);
    assert_int_equal(served_ask_here(app, GET("/../../etc/passwd", ""), NULL), 404);
    assert_int_equal(served_ask_here(app, GET("/%2e%2e/%2e%2e/etc/passwd", ""), NULL), 404);
    assert_int_equal(served_ask_here(app, GET("/..\\..\\etc\\passwd", ""), NULL), 404);
    assert_int_equal(served_ask_here(app, GET("/api/../../etc/passwd", ""), NULL), 404);
    assert_int_equal(served_ask_here(app, GET("/page.cgi", ""), NULL), 404);
    assert_int_equal(served_ask_here(app, GET("/api/", ""), NULL), 404);
    assert_int_equal(served_ask_here(app, GET("/ws", ""), NULL), 426);
    assert_int_not_equal(served_ask_here(app, GET("*", ""), NULL), 200);
    served_close(app);
}

#define POST_FROM(origin, type, length, body)                                                  \
    "POST /pair HTTP/1.1\r\nHost: #\r\nOrigin: " origin "\r\nContent-Type: " type              \
    "\r\nContent-Length: " length "\r\n\r\n" body

static void test_pairing_wants_the_code(void **state)
{
    static char answer[SERVED_ANSWER_BYTES];
    struct served *app = served_open(true);
    char request[512];
    char cookie[64];
    assert_int_equal(strlen(app->code), 6);
    assert_int_equal(served_ask_here(app, GET("/", ""), NULL), 200);
    assert_int_equal(served_ask_here(app, GET("/api/hello", ""), NULL), 401);
    assert_int_equal(served_ask_here(app, GET("/api/hello", "Cookie: stringhand=1\r\n"), NULL),
                     401);
    assert_int_equal(served_ask_here(app,
                                     POST_FROM("http://a.example", "application/json", "17",
                                               "{\"code\":\"000000\"}"),
                                     NULL),
                     403);
    assert_int_equal(
        served_ask_here(app, POST_FROM("http://#", "text/plain", "17", "{\"code\":\"000000\"}"),
                        NULL),
        415);
    assert_int_equal(
        served_ask_here(app, POST_FROM("http://#", "application/json", "257", ""), NULL), 413);
    assert_int_equal(
        served_ask_here(app, POST_FROM("http://#", "application/json", "99999999999", ""),
                        NULL),
        413);
    assert_int_equal(
        served_ask_here(app, POST_FROM("http://#", "application/json", "2", "[]"), NULL), 400);
    assert_int_equal(
        served_ask_here(
            app, POST_FROM("http://#", "application/json", "14", "{\"code\":\"none\"}"), NULL),
        400);
    assert_int_equal(
        served_ask_here(
            app, POST_FROM("http://#", "application/json", "15", "{\"code\":\"none\"}"), NULL),
        403);
    (void)snprintf(request, sizeof request,
                   POST_FROM("http://#", "application/json", "17", "{\"code\":\"%s\"}"),
                   app->code);
    assert_int_equal(served_ask_here(app, request, answer), 200);
    const char *set = strstr(answer, "Set-Cookie: stringhand_");
    assert_non_null(set);
    assert_non_null(strstr(set, "; Path=/; HttpOnly; SameSite=Strict\r\n"));
    assert_int_equal(sscanf(set, "Set-Cookie: %63[^;]", cookie), 1);
    (void)snprintf(request, sizeof request, GET("/api/hello", "Cookie: a=b; %s\r\n"), cookie);
    assert_int_equal(served_ask_here(app, request, answer), 200);
    assert_non_null(strstr(answer, "\"is_open\":true"));
    served_close(app);
}

static void test_guessing_is_slowed_down(void **state)
{
    static char answer[SERVED_ANSWER_BYTES];
    struct served *app = served_open(true);
    unsigned n_wrong = 0;
    char request[512];
    for (int i = 0; i < 100; i++) {
        int status = served_ask_here(
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
    assert_int_equal(served_ask_here(app, request, NULL), 429);
    served_close(app);
}

static void test_sizes_have_bounds(void **state)
{
    static char request[SERVED_ANSWER_BYTES];
    struct served *app = served_open(false);
    (void)snprintf(request, sizeof request, "GET /%0*d HTTP/1.1\r\nHost: #\r\n\r\n", 20000, 1);
    assert_int_not_equal(served_ask_here(app, request, NULL), 200);
    (void)snprintf(request, sizeof request, "GET / HTTP/1.1\r\nHost: #\r\nX: %0*d\r\n\r\n",
                   20000, 1);
    assert_int_not_equal(served_ask_here(app, request, NULL), 200);
    assert_int_equal(served_ask_here(app, GET("/", ""), NULL), 200);
    served_close(app);
}

/* What nobody wants is not waited for: 5 s each it once was. */
static void test_bodies_are_not_waited_for(void **state)
{
    struct served *app = served_open(false);
    const double before_s = served_now_s();
    assert_int_equal(served_ask_here(app, GET("/", "Content-Length: 1000000\r\n"), NULL), 200);
    assert_int_equal(
        served_ask_here(app, GET("/api/echo", "Transfer-Encoding: chunked\r\n"), NULL), 200);
    assert_int_equal(
        served_ask_here(app, "PUT / HTTP/1.1\r\nHost: #\r\nContent-Length: 9\r\n\r\n", NULL),
        405);
    assert_true(served_now_s() - before_s < 3.0);
    served_close(app);
}

static void test_taken_port_is_said(void **state)
{
    struct served *app = served_open(false);
    struct sh_server *second = NULL;
    struct sh_error err = {.status = SH_OK};
    const struct sh_server_config config = {.port = sh_server_get_port(app->server)};
    const struct sh_server_content content = {.context = app}; /* nobody is told */
    assert_int_equal(sh_server_open(&config, &content, &second, &err), SH_ERR_BUSY);
    assert_null(second);
    assert_non_null(strstr(err.todo, "take another"));
    served_close(app);
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
        cmocka_unit_test(test_taken_port_is_said),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
