/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_LIVE_MESSAGE_H
#define SH_LIVE_MESSAGE_H

#include <stdatomic.h>
#include <stddef.h>
#include <stdint.h>

/*
 * One message to viewers, shared by all queues that hold it: written once, then never changed,
 * freed by whoever drops it last. Any thread. Test: tests/live/test_room.c.
 */
struct sh_message {
    atomic_uint n_holders;
    uint64_t seq; /* 0: it is not logged */
    size_t n_bytes;
    char text[]; /* [n_bytes], UTF-8, then NUL */
};

/*
 * Makes a message of a JSON object's text, held once by the caller. A seq other than 0 is put
 * in as the object's first member. NULL: out of memory, or text that is no object.
 */
struct sh_message *sh_message_make(const char *text, size_t n_bytes, uint64_t seq);

/* Holds it once more, and gives it back. */
struct sh_message *sh_message_hold(struct sh_message *message);

/* Gives it up; takes NULL. */
void sh_message_drop(struct sh_message *message);

#endif
