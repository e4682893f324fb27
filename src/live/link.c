/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "live/link.h"

#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

#include "live/server_parts.h"
#include "live/socket.h"
#include "live/web_frame.h"

#define SEND_BUFFER_BYTES (64 * 1024)
#define READ_BYTES        4096u
#define NESTED_MAX        16u  /* objects and lists in a command */
#define PING_MS           5000 /* of silence; then it is asked whether it is there */
#define SILENT_MAX_S      60.0 /* without one whole frame; then it is gone */

struct sh_link {
    struct sh_server *server;
    struct mg_connection *connection;
    int socket;
    unsigned id; /* in the room; 0: none */
    struct sh_viewer *viewer;
    double heard_s; /* when its last frame came */
    struct sh_web_frame frame;
};

static enum sh_status write_text(void *context, const char *text, size_t n_bytes)
{
    struct sh_link *link = context;
    const int n = mg_websocket_write(link->connection, MG_WEBSOCKET_OPCODE_TEXT, text, n_bytes);
    return n > 0 ? SH_OK : SH_ERR_IO;
}

static void cut(void *context)
{
    sh_link_cut(context);
}

void sh_link_cut(struct sh_link *link)
{
    sh_socket_end(link->socket);
}

/* Puts a link into the server's list, or takes it out (from, to). Nobody comes in any more once
 * the server is to close: it would not be cut. */
static bool exchange(struct sh_server *server, const struct sh_link *from, struct sh_link *to)
{
    bool is_done = false;
    (void)pthread_mutex_lock(&server->link_lock);
    const bool is_late = to != NULL && server->is_closing;
    for (size_t i = 0; i < SH_ROOM_VIEWERS_MAX && !is_done && !is_late; i++) {
        if (server->link[i] == from) {
            server->link[i] = to;
            is_done = true;
        }
    }
    (void)pthread_mutex_unlock(&server->link_lock);
    return is_done;
}

/* "since=12" anywhere in the query; else what the hello says. */
static uint64_t find_since(const char *query, uint64_t seq)
{
    char text[24];
    char *end = NULL;
    if (query == NULL || mg_get_var(query, strlen(query), "since", text, sizeof text) <= 0) {
        return seq;
    }
    const unsigned long long since = strtoull(text, &end, 10);
    return *end == '\0' ? since : 0;
}

/* He takes his place and is told where things stand. */
static enum sh_status enter(struct sh_link *link, const char *query)
{
    struct sh_server *server = link->server;
    const struct sh_viewer_sink sink = {write_text, cut, link};
    struct sh_text hello;
    uint64_t seq = 0;
    link->id = sh_room_enter(server->room);
    if (link->id == 0) {
        return SH_ERR_FULL;
    }
    enum sh_status status = sh_viewer_open(&sink, &link->viewer);
    if (status != SH_OK) {
        return status;
    }
    sh_server_put_hello(server, link->id, &hello, &seq);
    status = hello.status;
    if (status == SH_OK) {
        status = sh_room_join(server->room, link->id, link->viewer, hello.data,
                              find_since(query, seq));
    }
    sh_text_close(&hello);
    return status;
}

/* What the server does itself; false: it is the app's. */
static bool obey(struct sh_link *link, const char *wish, json_int_t id, const json_t *object)
{
    struct sh_server *server = link->server;
    if (strcmp(wish, "control") == 0) {
        sh_room_control(server->room, link->id, json_is_true(json_object_get(object, "take")));
    } else if (strcmp(wish, "watch") == 0) {
        sh_room_watch(server->room, link->id, json_is_true(json_object_get(object, "on")));
    } else if (strcmp(wish, "painted") == 0) {
        if (server->content.painted != NULL) {
            server->content.painted(server->content.context,
                                    json_number_value(json_object_get(object, "sample_ms")));
        }
        return true;
    } else {
        return false;
    }
    sh_server_reply(server, link->id, id, NULL);
    return true;
}

/* Commands are flat; what is nested deeper could fill the stack of the thread that reads it. */
static bool is_shallow(const char *bytes, size_t n_bytes)
{
    size_t n_open = 0;
    bool is_quoted = false;
    for (size_t i = 0; i < n_bytes; i++) {
        if (is_quoted && bytes[i] == '\\') {
            i++; /* whatever it stands before is no end */
        } else if (bytes[i] == '"') {
            is_quoted = !is_quoted;
        } else if (!is_quoted && (bytes[i] == '[' || bytes[i] == '{')) {
            n_open++;
        }
    }
    return n_open <= NESTED_MAX;
}

/* False: it is no command, and the connection is to end. */
static bool take_command(struct sh_link *link, const char *bytes, size_t n_bytes)
{
    struct sh_server *server = link->server;
    json_t *object = is_shallow(bytes, n_bytes)
                         ? json_loadb(bytes, n_bytes, JSON_REJECT_DUPLICATES, NULL)
                         : NULL;
    const char *wish = json_string_value(json_object_get(object, "do"));
    const json_int_t id = json_integer_value(json_object_get(object, "id"));
    if (wish != NULL && !obey(link, wish, id, object)) {
        if (sh_room_get_controller(server->room) == link->id) {
            server->content.command(server->content.context, link->id, id, object);
        } else {
            sh_server_reply(server, link->id, id, "somebody else is in control; take it first");
        }
    }
    json_decref(object);
    return wish != NULL;
}

static enum sh_status
take_frame(void *context, enum sh_web_frame_opcode opcode, const char *bytes, size_t n_bytes)
{
    struct sh_link *link = context;
    link->heard_s = sh_server_now_s();
    switch (opcode) {
    case SH_WEB_FRAME_TEXT:
        return take_command(link, bytes, n_bytes) ? SH_OK : SH_ERR_FORMAT;
    case SH_WEB_FRAME_PING:
        return mg_websocket_write(link->connection, MG_WEBSOCKET_OPCODE_PONG, bytes, n_bytes) >
                       0
                   ? SH_OK
                   : SH_ERR_IO;
    case SH_WEB_FRAME_PONG:
        return SH_OK;
    case SH_WEB_FRAME_CLOSE:
        (void)mg_websocket_write(link->connection, MG_WEBSOCKET_OPCODE_CONNECTION_CLOSE, bytes,
                                 n_bytes);
        break;
    }
    return SH_ERR_IO;
}

/*
 * Listens until the connection is to end. What came in one piece with the handshake is the
 * library's and is lost: a client has to wait for the answer (RFC 6455, 4.1).
 */
static void listen_to(struct sh_link *link)
{
    const struct sh_web_frame_sink sink = {take_frame, link};
    unsigned char bytes[READ_BYTES];
    enum sh_status status = SH_OK;
    sh_web_frame_init(&link->frame, &sink);
    link->heard_s = sh_server_now_s();
    while (status == SH_OK && sh_server_now_s() - link->heard_s < SILENT_MAX_S) {
        size_t n = 0;
        status = sh_socket_read(link->socket, PING_MS, bytes, sizeof bytes, &n);
        if (status == SH_OK && n == 0) {
            const int n_sent =
                mg_websocket_write(link->connection, MG_WEBSOCKET_OPCODE_PING, "", 0);
            status = n_sent > 0 ? SH_OK : SH_ERR_IO;
        } else if (status == SH_OK) {
            status = sh_web_frame_push(&link->frame, bytes, n);
        }
    }
}

/* Returns when the socket has been ended; the library then calls sh_link_end. */
void sh_link_begin(struct mg_connection *connection, void *context)
{
    const struct mg_request_info *request = mg_get_request_info(connection);
    const int socket = sh_socket_find(request->remote_addr, (unsigned)request->remote_port);
    struct sh_link *link = calloc(1, sizeof *link);
    if (link == NULL || socket < 0) {
        free(link);
        sh_socket_end(socket);
        return;
    }
    link->server = context;
    link->connection = connection;
    link->socket = socket;
    mg_set_user_connection_data(connection, link);
    sh_socket_set_buffer(socket, SEND_BUFFER_BYTES);
    if (exchange(link->server, NULL, link) && enter(link, request->query_string) == SH_OK) {
        listen_to(link);
    }
    sh_socket_end(socket);
}

/* The library's kind of callback. */
/* NOLINTBEGIN(readability-non-const-parameter) */
int sh_link_take(
    struct mg_connection *connection, int bits, char *bytes, size_t n_bytes, void *context)
{
    (void)connection;
    (void)bits;
    (void)bytes;
    (void)n_bytes;
    (void)context;
    return 0;
}
/* NOLINTEND(readability-non-const-parameter) */

void sh_link_end(const struct mg_connection *connection, void *context)
{
    struct sh_link *link = mg_get_user_connection_data(connection);
    struct sh_server *server = context;
    if (link == NULL) {
        return;
    }
    mg_set_user_connection_data(connection, NULL);
    (void)exchange(server, link, NULL);
    sh_room_leave(server->room, link->id);
    sh_viewer_close(&link->viewer);
    free(link);
}
