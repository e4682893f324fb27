/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_LIVE_VIEWER_H
#define SH_LIVE_VIEWER_H

#include "base/status.h"
#include "live/message.h"

/*
 * One viewer: a bounded queue and a thread that writes from it, so that whoever has something
 * to tell never waits for anybody's network. A viewer that does not keep up finds its queue
 * full once and is cut off: it may come back and catch up from the log (live/room.h).
 *
 * Pushing takes a lock for some instructions, never for a write.
 * Test: tests/live/test_room.c.
 */
struct sh_viewer;

#define SH_VIEWER_QUEUE_MAX   512u                 /* messages, */
#define SH_VIEWER_QUEUE_BYTES (4u * 1024u * 1024u) /* bytes: over either, it is full */

/* Where it is written. */
struct sh_viewer_sink {
    /* Writes one message and may block; anything but SH_OK ends the writing. From the viewer's
     * own thread. */
    enum sh_status (*write)(void *context, const char *text, size_t n_bytes);
    /* Makes a write that blocks come back at once, and ends the connection. Must not block;
     * from any thread, more than once. */
    void (*cut)(void *context);
    void *context;
};

/*
 * Opens a viewer and starts its thread, with all signals blocked. Copies sink, keeps its
 * context. SH_ERR_MEMORY, SH_ERR_IO (no thread). Gives *out.
 */
enum sh_status sh_viewer_open(const struct sh_viewer_sink *sink, struct sh_viewer **out);

/* Cuts it off, waits for its thread, frees it and sets *viewer to NULL. Takes NULL inside. */
void sh_viewer_close(struct sh_viewer **viewer);

/* Queues a message (holds it). SH_ERR_FULL: it was not, or is no longer, to be kept up, and has
 * been cut off. Any thread. */
enum sh_status sh_viewer_push(struct sh_viewer *viewer, struct sh_message *message);

#endif
