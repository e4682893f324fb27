/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "live/served.h"

#include <arpa/inet.h>
#include <netinet/in.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/time.h>
#include <time.h>
#include <unistd.h>

#include "support/cmocka_all.h"

double served_now_s(void)
{
    struct timespec now = {0};
    (void)clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

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
    struct served *app = context;
    (void)pthread_mutex_lock(&app->lock);
    app->viewer = viewer;
    (void)snprintf(app->wish, sizeof app->wish, "%s",
                   json_string_value(json_object_get(object, "do")));
    (void)pthread_mutex_unlock(&app->lock);
    sh_server_reply(app->server, viewer, id, id == 13 ? "13: no; take another" : NULL);
}

static void keep_code(void *context, const char *code)
{
    struct served *app = context;
    (void)snprintf(app->code, sizeof app->code, "%s", code);
}

struct served *served_open(bool is_open)
{
    struct served *app = calloc(1, sizeof *app);
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

void served_close(struct served *app)
{
    sh_server_close(&app->server);
    assert_null(app->server);
    (void)pthread_mutex_destroy(&app->lock);
    free(app);
}

int served_dial(const struct served *app)
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

void served_send(int end, const char *bytes, size_t n_bytes)
{
    assert_int_equal(send(end, bytes, n_bytes, MSG_NOSIGNAL), n_bytes);
}

int served_ask(const struct served *app, const char *request, char *answer)
{
    static char kept[SERVED_ANSWER_BYTES];
    char *to = answer != NULL ? answer : kept;
    size_t n = 0;
    int end = served_dial(app);
    served_send(end, request, strlen(request));
    for (;;) {
        ssize_t more = recv(end, to + n, SERVED_ANSWER_BYTES - 1 - n, 0);
        if (more <= 0) {
            break;
        }
        n += (size_t)more;
    }
    to[n] = '\0';
    (void)close(end);
    return strncmp(to, "HTTP/1.1 ", 9) == 0 ? atoi(to + 9) : 0;
}

void served_fill_in(const struct served *app,
                    const char *pattern,
                    char request[SERVED_ANSWER_BYTES])
{
    size_t n = 0;
    for (const char *at = pattern; *at != '\0'; at++) {
        if (*at == '#') {
            n += (size_t)snprintf(request + n, SERVED_ANSWER_BYTES - n, "127.0.0.1:%u",
                                  sh_server_get_port(app->server));
        } else {
            request[n++] = *at;
        }
    }
    request[n] = '\0';
}

int served_ask_here(const struct served *app, const char *pattern, char *answer)
{
    static char request[SERVED_ANSWER_BYTES];
    served_fill_in(app, pattern, request);
    return served_ask(app, request, answer);
}
