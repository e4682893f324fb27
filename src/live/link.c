/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "live/link.h"

#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

#include "live/server_parts.h"
#include "live/socket.h"

#define SEND_BUFFER_BYTES (64 * 1024)
#define OPCODE_MASK       0x0F
#define FINAL_BIT         0x80
#define NESTED_MAX        16u /* objects and lists in a command */

struct sh_link {
    struct sh_server *server;
    struct mg_connection *connection;
    int socket;
    unsigned id; /* in the room; 0: none */
    struct sh_viewer *viewer;
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

/* Puts a link into the server's list, or takes it out (from, to). */
static bool exchange(struct sh_server *server, const struct sh_link *from, struct sh_link *to)
{
    bool is_done = false;
    (void)pthread_mutex_lock(&server->link_lock);
    for (size_t i = 0; i < SH_ROOM_VIEWERS_MAX && !is_done; i++) {
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

/* On any failure the socket is ended, and the library then calls sh_link_end. */
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
    *link = (struct sh_link){.server = context, .connection = connection, .socket = socket};
    mg_set_user_connection_data(connection, link);
    sh_socket_set_buffer(socket, SEND_BUFFER_BYTES);
    if (!exchange(link->server, NULL, link) || enter(link, request->query_string) != SH_OK) {
        sh_socket_end(socket);
    }
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

int sh_link_take(
    struct mg_connection *connection, int bits, char *bytes, size_t n_bytes, void *context)
{
    struct sh_link *link = mg_get_user_connection_data(connection);
    const int opcode = bits & OPCODE_MASK;
    (void)context;
    if (link == NULL) {
        return 0;
    }
    if (opcode == MG_WEBSOCKET_OPCODE_PONG || opcode == MG_WEBSOCKET_OPCODE_PING) {
        return 1;
    }
    const bool is_whole_text = opcode == MG_WEBSOCKET_OPCODE_TEXT && (bits & FINAL_BIT) != 0;
    return is_whole_text && n_bytes <= SH_LINK_MESSAGE_BYTES &&
           take_command(link, bytes, n_bytes);
}

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
