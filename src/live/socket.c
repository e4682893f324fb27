/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "live/socket.h"

#include <arpa/inet.h>
#include <dirent.h>
#include <errno.h>
#include <netinet/in.h>
#include <poll.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>

static bool is_peer(int descriptor, const struct in_addr *address, unsigned port)
{
    struct sockaddr_in peer;
    socklen_t n_bytes = sizeof peer;
    memset(&peer, 0, sizeof peer);
    return getpeername(descriptor, (struct sockaddr *)&peer, &n_bytes) == 0 &&
           peer.sin_family == AF_INET && ntohs(peer.sin_port) == port &&
           peer.sin_addr.s_addr == address->s_addr;
}

static bool is_listening(int descriptor, const struct in_addr *address, unsigned port)
{
    struct sockaddr_in own;
    int is_on = 0;
    socklen_t n_bytes = sizeof is_on;
    (void)address;
    memset(&own, 0, sizeof own);
    if (getsockopt(descriptor, SOL_SOCKET, SO_ACCEPTCONN, &is_on, &n_bytes) != 0 ||
        is_on == 0) {
        return false;
    }
    n_bytes = sizeof own;
    return getsockname(descriptor, (struct sockaddr *)&own, &n_bytes) == 0 &&
           own.sin_family == AF_INET && ntohs(own.sin_port) == port;
}

/* The first descriptor that is the one. */
static int find(bool (*is_wanted)(int descriptor, const struct in_addr *address, unsigned port),
                const struct in_addr *address,
                unsigned port)
{
    int found = -1;
    DIR *folder = opendir("/proc/self/fd");
    if (folder == NULL) {
        return -1;
    }
    const struct dirent *entry = NULL;
    while (found < 0 && (entry = readdir(folder)) != NULL) {
        char *end = NULL;
        const long descriptor = strtol(entry->d_name, &end, 10);
        if (end != entry->d_name && *end == '\0' && is_wanted((int)descriptor, address, port)) {
            found = (int)descriptor;
        }
    }
    (void)closedir(folder);
    return found;
}

/* On loopback both ends may be this process's: the one that was accepted has the server's port,
 * which is not the client's. */
int sh_socket_find(const char *address, unsigned port)
{
    struct in_addr wanted;
    return inet_pton(AF_INET, address, &wanted) == 1 ? find(is_peer, &wanted, port) : -1;
}

int sh_socket_find_listening(unsigned port)
{
    return find(is_listening, NULL, port);
}

enum sh_status
sh_socket_read(int socket, int patience_ms, unsigned char *bytes, size_t n_max, size_t *n)
{
    struct pollfd waiting = {.fd = socket, .events = POLLIN};
    *n = 0;
    if (socket < 0) {
        return SH_ERR_IO;
    }
    const int n_ready = poll(&waiting, 1, patience_ms);
    if (n_ready <= 0) {
        return n_ready == 0 || errno == EINTR ? SH_OK : SH_ERR_IO;
    }
    const ssize_t n_read = recv(socket, bytes, n_max, MSG_DONTWAIT);
    if (n_read < 0 && (errno == EAGAIN || errno == EINTR)) {
        return SH_OK;
    }
    *n = n_read > 0 ? (size_t)n_read : 0;
    return n_read > 0 ? SH_OK : SH_ERR_IO;
}

void sh_socket_set_buffer(int socket, int n_bytes)
{
    if (socket >= 0) {
        (void)setsockopt(socket, SOL_SOCKET, SO_SNDBUF, &n_bytes, sizeof n_bytes);
    }
}

void sh_socket_end_reading(int socket)
{
    if (socket >= 0) {
        (void)shutdown(socket, SHUT_RD);
    }
}

void sh_socket_end(int socket)
{
    if (socket >= 0) {
        (void)shutdown(socket, SHUT_RDWR);
    }
}
