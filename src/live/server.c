/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "live/server.h"

#include <errno.h>
#include <inttypes.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "live/request.h"
#include "live/server_parts.h"
#include "live/socket.h"

#define NS_PER_S    1e9
#define SEQ_PER_S   1000u /* a later run's numbers are above those of an earlier one */
#define LOOPBACK    "127.0.0.1"
#define OPTIONS_MAX 64u

double sh_server_now_s(void)
{
    struct timespec now = {0};
    (void)clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + (double)now.tv_nsec / NS_PER_S;
}

static int take_line(const struct mg_connection *connection, const char *line)
{
    struct sh_server *server = mg_get_user_data(mg_get_context(connection));
    if (server != NULL && !atomic_load(&server->has_started) && server->trouble[0] == '\0') {
        (void)snprintf(server->trouble, sizeof server->trouble, "%s", line);
    }
    return 1; /* nothing is printed */
}

/*
 * Each setting of the library that has a default, whether that would do or not: nothing but our
 * own callbacks is to serve anything. Those without one stay unset: no folder, no log, no file
 * of passwords, no script, no rewriting, no TLS. Nor does a callback hear of each access: for
 * its line the library asks localtime, which its threads would share.
 */
static struct mg_context *start_library(struct sh_server *server)
{
    char ports[32];
    (void)snprintf(ports, sizeof ports, "%s:%u", server->config.is_open ? "0.0.0.0" : LOOPBACK,
                   server->config.port);
    const char *options[] = {
        "listening_ports", ports,
        /* Viewers hold a thread each; as many again and more for requests, slow ones too. */
        "num_threads", "32", "connection_queue", "32", "listen_backlog", "64", "tcp_nodelay",
        "1", "enable_keep_alive", "no", "keep_alive_timeout_ms", "500",
        /* A request's head, and a write that waits. */
        "request_timeout_ms", "5000", "linger_timeout_ms", "500", "max_request_size", "8192",
        "websocket_timeout_ms", "5000", "enable_websocket_ping_pong", "no", "decode_url", "no",
        "decode_query_string", "no", "allow_sendfile_call", "no", "enable_directory_listing",
        "no", "allow_index_script_resource", "no", "index_files", "", "cgi_pattern", "",
        "ssi_pattern", "", "authentication_domain", "stringhand", "enable_auth_domain_check",
        "no", "access_control_allow_origin", "", "access_control_allow_methods", "",
        "access_control_allow_headers", "", "static_file_max_age", "0", NULL};
    const struct mg_callbacks callbacks = {.begin_request = sh_request_begin,
                                           .log_message = take_line,
                                           .http_error = sh_request_fail};
    sigset_t all;
    sigset_t before;
    (void)sigfillset(&all);
    (void)pthread_sigmask(SIG_SETMASK, &all, &before);
    struct mg_context *library = mg_start(&callbacks, server, options);
    (void)pthread_sigmask(SIG_SETMASK, &before, NULL);
    return library;
}

static enum sh_status start(struct sh_server *server, struct sh_error *err)
{
    struct mg_server_port port[2];
    char where[32];
    (void)snprintf(where, sizeof where, "--http-port %u", server->config.port);
    errno = 0;
    struct mg_context *library = start_library(server);
    if (library == NULL) {
        const bool is_taken = strstr(server->trouble, "bind") != NULL;
        return sh_error_set(err, is_taken ? SH_ERR_BUSY : SH_ERR_IO, where,
                            "take another, or 0 for any that is free",
                            "the server does not start: %s", server->trouble);
    }
    const int n = mg_get_server_ports(library, 2, port);
    server->port = n > 0 ? (unsigned)port[0].port : 0;
    (void)snprintf(server->cookie, sizeof server->cookie, "stringhand_%u", server->port);
    server->library = library;
    atomic_store(&server->has_started, true);
    mg_set_websocket_handler(library, "/ws", NULL, sh_link_begin, sh_link_take, sh_link_end,
                             server);
    return SH_OK;
}

enum sh_status sh_server_open(const struct sh_server_config *config,
                              const struct sh_server_content *content,
                              struct sh_server **out,
                              struct sh_error *err)
{
    const struct sh_secret_source source = sh_secret_source_default();
    struct sh_server *server = calloc(1, sizeof *server);
    if (server == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, NULL, NULL, "out of memory");
    }
    server->config = *config;
    server->content = *content;
    (void)pthread_mutex_init(&server->gate_lock, NULL);
    (void)pthread_mutex_init(&server->link_lock, NULL);
    (void)sem_init(&server->turns, 0, SH_SERVER_TURNS);
    sh_origin_find_names(config->is_open, &server->names);
    (void)mg_init_library(0);
    enum sh_status status = sh_gate_init(&server->gate, &source);
    if (status != SH_OK) {
        (void)sh_error_set(err, status, NULL, NULL, "the system gives no random numbers");
    }
    if (status == SH_OK) {
        status = sh_room_open((uint64_t)time(NULL) * SEQ_PER_S, &server->room);
        if (status != SH_OK) {
            (void)sh_error_set(err, status, NULL, NULL, "out of memory");
        }
    }
    if (status == SH_OK) {
        (void)pthread_mutex_lock(&server->gate_lock);
        status = start(server, err);
        (void)pthread_mutex_unlock(&server->gate_lock);
    }
    if (status != SH_OK) {
        sh_server_close(&server);
        return status;
    }
    if (config->is_open) {
        server->content.code(server->content.context, server->gate.code);
    }
    *out = server;
    return SH_OK;
}

void sh_server_close(struct sh_server **server)
{
    if (server == NULL || *server == NULL) {
        return;
    }
    struct sh_server *closing = *server;
    (void)pthread_mutex_lock(&closing->link_lock);
    closing->is_closing = true;
    for (size_t i = 0; i < SH_ROOM_VIEWERS_MAX; i++) {
        if (closing->link[i] != NULL) {
            sh_link_cut(closing->link[i]);
        }
    }
    (void)pthread_mutex_unlock(&closing->link_lock);
    if (closing->library != NULL) {
        /* The library would look up only every other second. */
        sh_socket_end(sh_socket_find_listening(closing->port));
        mg_stop(closing->library);
    }
    (void)mg_exit_library();
    sh_room_close(&closing->room);
    (void)sem_destroy(&closing->turns);
    (void)pthread_mutex_destroy(&closing->link_lock);
    (void)pthread_mutex_destroy(&closing->gate_lock);
    free(closing);
    *server = NULL;
}

unsigned sh_server_get_port(const struct sh_server *server)
{
    return server->port;
}

size_t sh_server_get_addresses(const struct sh_server *server,
                               char (*address)[SH_SERVER_ADDRESS_BYTES],
                               size_t n_max)
{
    struct sh_origin_names names;
    size_t n = 0;
    sh_origin_find_names(server->config.is_open, &names);
    for (size_t i = 0; i < names.n && n < n_max; i++) {
        const char *name = names.name[i];
        const bool is_number = name[strspn(name, "0123456789.")] == '\0';
        const bool is_loopback = strcmp(name, LOOPBACK) == 0;
        if (is_number && (!is_loopback || n == 0)) {
            (void)snprintf(address[n++], SH_SERVER_ADDRESS_BYTES, "http://%s:%u/", name,
                           server->port);
        }
    }
    return n;
}

void sh_server_put_hello(struct sh_server *server,
                         unsigned viewer,
                         struct sh_text *text,
                         uint64_t *seq)
{
    const unsigned controller = sh_room_get_controller(server->room);
    *seq = sh_room_get_seq(server->room);
    sh_text_init(text, 0);
    sh_text_puts(text, "{\"type\":\"hello\",\"program\":\"stringhand " SH_VERSION "\"");
    sh_text_printf(text, ",\"is_open\":%s", server->config.is_open ? "true" : "false");
    sh_text_printf(text, viewer != 0 ? ",\"viewer\":%u" : ",\"viewer\":null", viewer);
    sh_text_printf(text, controller != 0 ? ",\"controller\":%u" : ",\"controller\":null",
                   controller);
    sh_text_printf(text, ",\"seq\":%" PRIu64, *seq);
    server->content.hello(server->content.context, text);
    sh_text_puts(text, "}");
}

enum sh_status
sh_server_tell(struct sh_server *server, enum sh_room_audience audience, const char *text)
{
    return sh_room_tell(server->room, audience, text);
}

void sh_server_reply(struct sh_server *server,
                     unsigned viewer,
                     json_int_t id,
                     const char *error)
{
    json_t *reply = error == NULL
                        ? json_pack("{s:s,s:I,s:b}", "type", "reply", "id", id, "ok", 1)
                        : json_pack("{s:s,s:I,s:b,s:s}", "type", "reply", "id", id, "ok", 0,
                                    "error", error);
    char *text = reply != NULL ? json_dumps(reply, JSON_COMPACT) : NULL;
    if (text != NULL) {
        sh_room_answer(server->room, viewer, text);
    }
    free(text);
    json_decref(reply);
}

bool sh_server_is_watched(const struct sh_server *server)
{
    return sh_room_is_watched(server->room);
}
