/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sensor/port_tcp.h"

#include <errno.h>
#include <fcntl.h>
#include <netdb.h>
#include <poll.h>
#include <stdbool.h>
#include <string.h>
#include <sys/socket.h>
#include <unistd.h>

#define CONNECT_MS    5000
#define HOST_BYTES    256u
#define SERVICE_BYTES 8u
#define PORT_MAX      65535u
#define TODO_ADDRESS  "give tcp:HOST:PORT, such as tcp:127.0.0.1:4000"

struct server {
    char host[HOST_BYTES];
    char service[SERVICE_BYTES];
};

static bool copy_part(char *to, size_t n_room, const char *from, size_t n_bytes)
{
    if (n_bytes == 0 || n_bytes >= n_room) {
        return false;
    }
    memcpy(to, from, n_bytes);
    to[n_bytes] = '\0';
    return true;
}

static bool is_port(const char *text)
{
    unsigned value = 0;
    if (strlen(text) >= SERVICE_BYTES) {
        return false;
    }
    for (; *text != '\0'; text++) {
        if (*text < '0' || *text > '9') {
            return false;
        }
        value = 10 * value + (unsigned)(*text - '0');
    }
    return value >= 1 && value <= PORT_MAX;
}

/* The last colon ends the host; brackets around it are taken off. */
static bool parse_address(const char *address, struct server *server)
{
    const char *host = address + strlen(SH_PORT_TCP_PREFIX);
    const char *colon = strrchr(host, ':');
    if (colon == NULL || !is_port(colon + 1)) {
        return false;
    }
    size_t n_host = (size_t)(colon - host);
    if (n_host >= 2 && host[0] == '[' && host[n_host - 1] == ']') {
        host++;
        n_host -= 2;
    } else if (memchr(host, ':', n_host) != NULL) {
        return false;
    }
    return copy_part(server->host, sizeof server->host, host, n_host) &&
           copy_part(server->service, sizeof server->service, colon + 1, strlen(colon + 1));
}

/* 0, or the errno with which the connection failed. */
static int finish_connect(int descriptor)
{
    struct pollfd waiting = {.fd = descriptor, .events = POLLOUT};
    int n_ready = 0;
    do {
        n_ready = poll(&waiting, 1, CONNECT_MS);
    } while (n_ready < 0 && errno == EINTR);
    if (n_ready <= 0) {
        return n_ready == 0 ? ETIMEDOUT : errno;
    }
    int os_number = 0;
    socklen_t n_bytes = sizeof os_number;
    if (getsockopt(descriptor, SOL_SOCKET, SO_ERROR, &os_number, &n_bytes) != 0) {
        return errno;
    }
    return os_number;
}

/* A connected descriptor, or -1 with the reason in *os_number. */
static int connect_to(const struct addrinfo *place, int *os_number)
{
    int type = place->ai_socktype | SOCK_NONBLOCK | SOCK_CLOEXEC;
    int descriptor = socket(place->ai_family, type, place->ai_protocol);
    if (descriptor < 0) {
        *os_number = errno;
        return -1;
    }
    *os_number = 0;
    if (connect(descriptor, place->ai_addr, place->ai_addrlen) != 0) {
        *os_number = errno == EINPROGRESS ? finish_connect(descriptor) : errno;
    }
    if (*os_number != 0) {
        (void)close(descriptor);
        return -1;
    }
    /* A server that lost its power sends nothing more, not even an end: ask for it. */
    int on = 1;
    (void)setsockopt(descriptor, SOL_SOCKET, SO_KEEPALIVE, &on, sizeof on);
    return descriptor;
}

enum sh_status sh_port_tcp_open(const char *address, int *descriptor, struct sh_error *err)
{
    struct server server;
    if (!parse_address(address, &server)) {
        return sh_error_set(err, SH_ERR_ARGUMENT, address, TODO_ADDRESS,
                            "the address cannot be read");
    }
    struct addrinfo hints = {.ai_family = AF_UNSPEC, .ai_socktype = SOCK_STREAM};
    struct addrinfo *places = NULL;
    int answer = getaddrinfo(server.host, server.service, &hints, &places);
    if (answer != 0) {
        return sh_error_set(err, SH_ERR_NOT_FOUND, address, "check the name and the network",
                            "no such host: %s", gai_strerror(answer));
    }
    int os_number = EIO;
    int connected = -1;
    for (struct addrinfo *place = places; place != NULL && connected < 0;
         place = place->ai_next) {
        connected = connect_to(place, &os_number);
    }
    freeaddrinfo(places);
    if (connected < 0) {
        return sh_error_set_os(err, os_number, address, "start the server, or check the port",
                               "cannot connect");
    }
    *descriptor = connected;
    return SH_OK;
}
