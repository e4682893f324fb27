/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "live/request.h"

#include <errno.h>
#include <math.h>
#include <semaphore.h>
#include <stdio.h>
#include <string.h>
#include <strings.h>

#include "live/page.h"
#include "live/server_parts.h"
#include "live/socket.h"

#define BODY_BYTES   256u
#define BODY_MAX_S   5.0
#define ANSWER_MAX_S 30.0 /* for whoever reads it slowly */
#define PIECE_BYTES  16384u
#define TURN_MAX_S   20 /* waited for */
#define NAMES_OLD_S  2.0
#define TYPE_JSON    "application/json"
#define EXTRA_BYTES  160u
#define API          "/api/"

/* Names are looked up again where one is asked for that is not known: the network may be
 * another by now. */
static bool is_own_host(struct sh_server *server, const char *host)
{
    (void)pthread_mutex_lock(&server->gate_lock);
    const double now_s = sh_server_now_s();
    bool is_own = sh_origin_is_host(&server->names, server->port, host);
    if (!is_own && server->config.is_open && now_s - server->names_s > NAMES_OLD_S) {
        server->names_s = now_s;
        sh_origin_find_names(true, &server->names);
        is_own = sh_origin_is_host(&server->names, server->port, host);
    }
    (void)pthread_mutex_unlock(&server->gate_lock);
    return is_own;
}

/* What every answer carries: it is nobody's but this page's, and the page is nobody's frame. */
static void send_head(struct mg_connection *connection,
                      int status,
                      const char *type,
                      size_t n_bytes,
                      const char *extra)
{
    const char *host = mg_get_header(connection, "Host");
    char socket[SH_ORIGIN_BYTES + 8] = "";
    struct sh_server *server = mg_get_user_data(mg_get_context(connection));
    if (host != NULL && is_own_host(server, host)) {
        (void)snprintf(socket, sizeof socket, " ws://%s", host);
    }
    (void)mg_printf(connection,
                    "HTTP/1.1 %d %s\r\n"
                    "Content-Type: %s\r\n"
                    "Content-Length: %zu\r\n"
                    "Connection: close\r\n"
                    "Cache-Control: no-store\r\n"
                    "Content-Security-Policy: default-src 'none'; script-src 'self'; "
                    "style-src 'self'; img-src 'self' data:; connect-src 'self'%s; "
                    "base-uri 'none'; form-action 'none'; frame-ancestors 'none'\r\n"
                    "X-Content-Type-Options: nosniff\r\n"
                    "X-Frame-Options: DENY\r\n"
                    "Referrer-Policy: no-referrer\r\n"
                    "Cross-Origin-Opener-Policy: same-origin\r\n"
                    "Cross-Origin-Resource-Policy: same-origin\r\n"
                    "Permissions-Policy: camera=(), microphone=(), geolocation=()\r\n"
                    "%s\r\n",
                    status, mg_get_response_code_text(connection, status), type, n_bytes,
                    socket, extra);
}

/* Piece by piece: one who takes a little now and then must not hold a thread for ever. */
static void send_body(struct mg_connection *connection, const char *bytes, size_t n_bytes)
{
    const double end_s = sh_server_now_s() + ANSWER_MAX_S;
    size_t n_sent = 0;
    int n = 1;
    while (n_sent < n_bytes && n > 0 && sh_server_now_s() < end_s) {
        const size_t n_left = n_bytes - n_sent;
        n = mg_write(connection, bytes + n_sent, n_left < PIECE_BYTES ? n_left : PIECE_BYTES);
        n_sent += n > 0 ? (size_t)n : 0;
    }
}

static int send_json(struct mg_connection *connection, int status, const char *text)
{
    send_head(connection, status, TYPE_JSON, strlen(text), "");
    send_body(connection, text, strlen(text));
    return status;
}

static int refuse(struct mg_connection *connection, int status, const char *why)
{
    char text[EXTRA_BYTES];
    (void)snprintf(text, sizeof text, "{\"error\":\"%s\"}", why);
    return send_json(connection, status, text);
}

int sh_request_fail(struct mg_connection *connection, int status, const char *message)
{
    (void)message;
    (void)refuse(connection, status, "this request cannot be answered");
    return 0;
}

static bool is_paired(struct sh_server *server, struct mg_connection *connection)
{
    const char *cookies = mg_get_header(connection, "Cookie");
    char token[SH_SECRET_TOKEN_BYTES];
    if (!server->config.is_open) {
        return true;
    }
    if (cookies == NULL || mg_get_cookie(cookies, server->cookie, token, sizeof token) <= 0) {
        return false;
    }
    (void)pthread_mutex_lock(&server->gate_lock);
    const bool is_known = sh_gate_is_known(&server->gate, token, sh_server_now_s());
    (void)pthread_mutex_unlock(&server->gate_lock);
    return is_known;
}

/* Reads a short body; false: too slow, or not all of it came. A byte at a time: asked for more,
 * the library waits until all of them are there, however slowly they come. */
static bool read_body(struct mg_connection *connection, size_t n_bytes, char body[BODY_BYTES])
{
    const double end_s = sh_server_now_s() + BODY_MAX_S;
    size_t n_read = 0;
    while (n_read < n_bytes && sh_server_now_s() < end_s) {
        if (mg_read(connection, body + n_read, 1) != 1) {
            return false;
        }
        n_read++;
    }
    return n_read == n_bytes;
}

static int answer_try(struct sh_server *server,
                      struct mg_connection *connection,
                      const struct sh_gate_verdict *verdict)
{
    static const char right[] = "{\"ok\":true}";
    char extra[EXTRA_BYTES];
    char text[EXTRA_BYTES];
    const double wait_s = ceil(verdict->wait_s);
    switch (verdict->answer) {
    case SH_GATE_ADMITTED:
        (void)snprintf(extra, sizeof extra,
                       "Set-Cookie: %s=%s; Path=/; HttpOnly; SameSite=Strict\r\n",
                       server->cookie, verdict->token);
        send_head(connection, 200, TYPE_JSON, strlen(right), extra);
        send_body(connection, right, strlen(right));
        return 200;
    case SH_GATE_WAIT:
        (void)snprintf(extra, sizeof extra, "Retry-After: %.0f\r\n", wait_s);
        (void)snprintf(text, sizeof text,
                       "{\"error\":\"too many wrong codes; wait %.0f s\",\"wait_s\":%.0f}",
                       wait_s, wait_s);
        send_head(connection, 429, TYPE_JSON, strlen(text), extra);
        send_body(connection, text, strlen(text));
        return 429;
    case SH_GATE_WRONG:
        break;
    }
    return refuse(connection, 403, "that is not the code that the terminal shows");
}

static int
try_code(struct sh_server *server, struct mg_connection *connection, const char *code)
{
    const struct mg_request_info *request = mg_get_request_info(connection);
    struct sh_gate_verdict verdict;
    char renewed[SH_SECRET_CODE_BYTES] = "";
    (void)pthread_mutex_lock(&server->gate_lock);
    const unsigned n_codes = server->gate.n_codes;
    const enum sh_status status =
        sh_gate_try(&server->gate, request->remote_addr, code, sh_server_now_s(), &verdict);
    if (server->gate.n_codes != n_codes) {
        memcpy(renewed, server->gate.code, sizeof renewed);
    }
    (void)pthread_mutex_unlock(&server->gate_lock);
    if (renewed[0] != '\0') {
        server->content.code(server->content.context, renewed);
    }
    return status == SH_OK ? answer_try(server, connection, &verdict)
                           : refuse(connection, 500, "no random numbers");
}

static int pair(struct sh_server *server, struct mg_connection *connection)
{
    const struct mg_request_info *request = mg_get_request_info(connection);
    const char *type = mg_get_header(connection, "Content-Type");
    char body[BODY_BYTES];
    if (type == NULL || strncasecmp(type, TYPE_JSON, strlen(TYPE_JSON)) != 0) {
        return refuse(connection, 415, "send application/json");
    }
    if (request->content_length < 0) {
        return refuse(connection, 411, "say how long it is");
    }
    if (request->content_length > (long long)sizeof body) {
        return refuse(connection, 413, "too long");
    }
    const size_t n_bytes = (size_t)request->content_length;
    if (!read_body(connection, n_bytes, body)) {
        return refuse(connection, 408, "too slow");
    }
    json_t *object = json_loadb(body, n_bytes, JSON_REJECT_DUPLICATES, NULL);
    const char *code = json_string_value(json_object_get(object, "code"));
    int status = 0;
    if (code == NULL) {
        status = refuse(connection, 400, "send {code: the six digits}");
    } else if (!server->config.is_open) {
        status = send_json(connection, 200, "{\"ok\":true}");
    } else {
        status = try_code(server, connection, code);
    }
    json_decref(object);
    return status;
}

/* What is answered may take seconds of a core and tens of megabytes: not for everybody at once.
 * False: it took too long for a turn to come. */
static bool take_turn(struct sh_server *server)
{
    struct timespec until = {0};
    int failure = 0;
    (void)clock_gettime(CLOCK_REALTIME, &until);
    until.tv_sec += TURN_MAX_S;
    do {
        failure = sem_timedwait(&server->turns, &until);
    } while (failure != 0 && errno == EINTR);
    return failure == 0;
}

static int
get_content(struct sh_server *server, const char *path, const char *query, struct sh_text *text)
{
    if (!take_turn(server)) {
        return 503;
    }
    const int status = server->content.get(server->content.context, path, query, text);
    (void)sem_post(&server->turns);
    return status;
}

static int get_api(struct sh_server *server, struct mg_connection *connection, const char *path)
{
    const struct mg_request_info *request = mg_get_request_info(connection);
    const char *query = request->query_string != NULL ? request->query_string : "";
    struct sh_text text;
    int status = 200;
    if (strcmp(path, "/api/hello") == 0) {
        uint64_t seq = 0;
        sh_server_put_hello(server, 0, &text, &seq);
    } else {
        sh_text_init(&text, 0);
        status = get_content(server, path, query, &text);
    }
    if (text.status != SH_OK) {
        status = refuse(connection, 503, "out of memory");
    } else if (text.n_bytes > 0) {
        send_head(connection, status, TYPE_JSON, text.n_bytes, "");
        send_body(connection, text.data, text.n_bytes);
    } else {
        status =
            refuse(connection, status != 200 ? status : 404,
                   status == 503 ? "too much at once; ask again" : "there is no such thing");
    }
    sh_text_close(&text);
    return status;
}

static int get_file(struct mg_connection *connection, const char *path)
{
    const struct sh_page_file *file = sh_page_find(path);
    if (file == NULL) {
        return refuse(connection, 404, "there is no such file");
    }
    send_head(connection, 200, file->type, file->n_bytes, "");
    send_body(connection, (const char *)file->bytes, file->n_bytes);
    return 200;
}

static bool is_upgrade(const struct mg_connection *connection)
{
    const char *upgrade = mg_get_header(connection, "Upgrade");
    return upgrade != NULL && strcasecmp(upgrade, "websocket") == 0;
}

/* Browsers say it of every request; what is not one need not. */
static bool is_from_elsewhere(const struct mg_connection *connection)
{
    const char *site = mg_get_header(connection, "Sec-Fetch-Site");
    return site != NULL && strcmp(site, "same-origin") != 0 && strcmp(site, "none") != 0;
}

/* The status that was sent, or 0 for a WebSocket that may open. */
static int
answer_private(struct sh_server *server, struct mg_connection *connection, const char *path)
{
    const char *host = mg_get_header(connection, "Host");
    const bool is_socket = strcmp(path, "/ws") == 0;
    if (is_from_elsewhere(connection)) {
        return refuse(connection, 403, "this comes from another page");
    }
    if (is_socket && !is_upgrade(connection)) {
        return refuse(connection, 426, "this is for WebSockets");
    }
    if (is_socket && !sh_origin_is_same(mg_get_header(connection, "Origin"), host)) {
        return refuse(connection, 403, "this comes from another page");
    }
    if (!is_paired(server, connection)) {
        return refuse(connection, 401, "type the code that the terminal shows");
    }
    return is_socket ? 0 : get_api(server, connection, path);
}

static int
answer_post(struct sh_server *server, struct mg_connection *connection, const char *path)
{
    const char *host = mg_get_header(connection, "Host");
    if (is_from_elsewhere(connection) ||
        !sh_origin_is_same(mg_get_header(connection, "Origin"), host)) {
        return refuse(connection, 403, "this comes from another page");
    }
    return strcmp(path, "/pair") == 0 ? pair(server, connection)
                                      : refuse(connection, 404, "there is no such thing");
}

/* The library would wait for the rest of a body that nobody wants, however slowly it comes. */
static void end_reading(struct mg_connection *connection)
{
    const struct mg_request_info *request = mg_get_request_info(connection);
    if (request->content_length > 0 || mg_get_header(connection, "Transfer-Encoding") != NULL) {
        sh_socket_end_reading(
            sh_socket_find(request->remote_addr, (unsigned)request->remote_port));
    }
}

static int answer(struct mg_connection *connection)
{
    struct sh_server *server = mg_get_user_data(mg_get_context(connection));
    const struct mg_request_info *request = mg_get_request_info(connection);
    const char *path = request->local_uri_raw != NULL ? request->local_uri_raw : "";
    if (!is_own_host(server, mg_get_header(connection, "Host"))) {
        return refuse(connection, 403, "this machine is not called so");
    }
    if (strcmp(request->request_method, "POST") == 0) {
        return answer_post(server, connection, path);
    }
    if (strcmp(request->request_method, "GET") != 0) {
        return refuse(connection, 405, "only GET, and POST to pair");
    }
    const bool is_private = strcmp(path, "/ws") == 0 || strncmp(path, API, strlen(API)) == 0;
    return is_private ? answer_private(server, connection, path) : get_file(connection, path);
}

int sh_request_begin(struct mg_connection *connection)
{
    const int status = answer(connection);
    if (status != 0) {
        end_reading(connection);
    }
    return status;
}
