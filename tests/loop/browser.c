/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "loop/browser.h"

#include <arpa/inet.h>
#include <netinet/in.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/time.h>
#include <unistd.h>

#include "support/cmocka_all.h"

#define ANSWER_BYTES 8000000u
#define WAIT_S       30

unsigned browser_find_port(const char *address)
{
    const char *colon = strrchr(address, ':');
    assert_non_null(colon);
    return (unsigned)strtoul(colon + 1, NULL, 10);
}

static int connect_to(unsigned port)
{
    const struct timeval wait = {.tv_sec = WAIT_S};
    struct sockaddr_in to = {.sin_family = AF_INET, .sin_port = htons((uint16_t)port)};
    int opened = socket(AF_INET, SOCK_STREAM, 0);
    assert_true(opened >= 0);
    to.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    assert_int_equal(setsockopt(opened, SOL_SOCKET, SO_RCVTIMEO, &wait, sizeof wait), 0);
    assert_int_equal(connect(opened, (const struct sockaddr *)&to, sizeof to), 0);
    return opened;
}

static void send_all(int socket, const void *bytes, size_t n_bytes)
{
    assert_int_equal(send(socket, bytes, n_bytes, MSG_NOSIGNAL), n_bytes);
}

json_t *browser_get(unsigned port, const char *path, int status)
{
    char request[512];
    char *answer = malloc(ANSWER_BYTES + 1);
    size_t n = 0;
    assert_non_null(answer);
    int opened = connect_to(port);
    int n_request = snprintf(request, sizeof request,
                             "GET %s HTTP/1.1\r\nHost: 127.0.0.1:%u\r\n"
                             "Connection: close\r\n\r\n",
                             path, port);
    send_all(opened, request, (size_t)n_request);
    for (ssize_t got = 1; got > 0 && n<ANSWER_BYTES; n += got> 0 ? (size_t)got : 0) {
        got = recv(opened, answer + n, ANSWER_BYTES - n, 0);
    }
    (void)close(opened);
    answer[n] = '\0';
    assert_int_equal(strncmp(answer, "HTTP/1.1 ", 9), 0);
    assert_int_equal(strtol(answer + 9, NULL, 10), status);
    const char *body = strstr(answer, "\r\n\r\n");
    assert_non_null(body);
    json_t *made = json_loads(body + 4, 0, NULL);
    assert_non_null(made);
    free(answer);
    return made;
}

static void read_all(int socket, void *bytes, size_t n_bytes)
{
    size_t n = 0;
    while (n < n_bytes) {
        ssize_t got = recv(socket, (char *)bytes + n, n_bytes - n, 0);
        assert_true(got > 0);
        n += (size_t)got;
    }
}

int browser_open_socket(unsigned port)
{
    char text[512];
    size_t n = 0;
    int opened = connect_to(port);
    int n_request = snprintf(text, sizeof text,
                             "GET /ws HTTP/1.1\r\nHost: 127.0.0.1:%u\r\n"
                             "Origin: http://127.0.0.1:%u\r\nUpgrade: websocket\r\n"
                             "Connection: Upgrade\r\nSec-WebSocket-Version: 13\r\n"
                             "Sec-WebSocket-Key: d3JlbiBvZiB0aGUga2lsbg==\r\n\r\n",
                             port, port);
    send_all(opened, text, (size_t)n_request);
    for (; n < 4 || memcmp(text + n - 4, "\r\n\r\n", 4) != 0; n++) {
        assert_true(n + 1 < sizeof text);
        read_all(opened, text + n, 1);
    }
    assert_int_equal(strncmp(text, "HTTP/1.1 101", 12), 0);
    return opened;
}

/* One frame of text, masked by zeros (RFC 6455, 5.2). */
void browser_say(int socket, const char *text)
{
    unsigned char frame[6 + 125] = {0x81};
    size_t n = strlen(text);
    assert_true(n <= 125);
    frame[1] = (unsigned char)(0x80u | n);
    memcpy(frame + 6, text, n);
    send_all(socket, frame, 6 + n);
}

/* One whole frame's text; the caller frees it. Others than text are "". */
static char *read_frame(int socket)
{
    unsigned char head[10];
    read_all(socket, head, 2);
    size_t n = head[1] & 0x7fu;
    size_t n_more = n == 127 ? 8 : n == 126 ? 2 : 0;
    read_all(socket, head + 2, n_more);
    for (size_t i = 0, of = 0; i < n_more; i++) {
        of = of << 8 | head[2 + i];
        n = i + 1 == n_more ? of : n;
    }
    assert_true(n < ANSWER_BYTES);
    char *text = malloc(n + 1);
    assert_non_null(text);
    read_all(socket, text, n);
    text[(head[0] & 0x0fu) == 1 ? n : 0] = '\0';
    return text;
}

json_t *browser_hear(int socket, const char *type)
{
    for (;;) {
        char *text = read_frame(socket);
        json_t *message = json_loads(text, 0, NULL);
        const char *got = json_string_value(json_object_get(message, "type"));
        free(text);
        if (got != NULL && strcmp(got, type) == 0) {
            return message;
        }
        json_decref(message);
    }
}
