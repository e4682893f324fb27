/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "live/message.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define HEAD_BYTES 40u

struct sh_message *sh_message_make(const char *text, size_t n_bytes, uint64_t seq)
{
    char head[HEAD_BYTES] = "{";
    if (n_bytes < 2 || text[0] != '{') {
        return NULL;
    }
    if (seq != 0) {
        (void)snprintf(head, sizeof head, "{\"seq\":%" PRIu64 "%s", seq,
                       text[1] == '}' ? "" : ",");
    }
    const size_t n_head = strlen(head);
    struct sh_message *message = malloc(sizeof *message + n_head + n_bytes);
    if (message == NULL) {
        return NULL;
    }
    atomic_init(&message->n_holders, 1);
    message->seq = seq;
    message->n_bytes = n_head + n_bytes - 1;
    memcpy(message->text, head, n_head);
    memcpy(message->text + n_head, text + 1, n_bytes - 1);
    message->text[message->n_bytes] = '\0';
    return message;
}

struct sh_message *sh_message_hold(struct sh_message *message)
{
    (void)atomic_fetch_add(&message->n_holders, 1);
    return message;
}

void sh_message_drop(struct sh_message *message)
{
    if (message != NULL && atomic_fetch_sub(&message->n_holders, 1) == 1) {
        free(message);
    }
}
