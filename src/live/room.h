/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_LIVE_ROOM_H
#define SH_LIVE_ROOM_H

#include <stdbool.h>

#include "live/viewer.h"

/*
 * All viewers, what has been told them, and which one of them is in control.
 *
 * Messages that matter later (shots, marks) are logged under a number that only goes up, so
 * that a viewer that was away says the last one it has and gets what it missed, in order and
 * without a gap; where the log no longer reaches so far back it is told to load all anew. The
 * numbers of a room begin at first_seq, which a later room should begin above.
 *
 * The first viewer is in control, and so is the next to come where nobody is; any may take it.
 * Any thread; nothing in here waits for a network. Test: tests/live/test_room.c.
 */
struct sh_room;

#define SH_ROOM_VIEWERS_MAX 8u
#define SH_ROOM_LOG_MAX     256u /* messages; fewer than a viewer's queue holds */
#define SH_ROOM_LOG_BYTES   (2u * 1024u * 1024u)

/* Opens a room. SH_ERR_MEMORY. Gives *out. */
enum sh_status sh_room_open(uint64_t first_seq, struct sh_room **out);

/* Closes it, when all viewers have left, and sets *room to NULL. Takes NULL inside. */
void sh_room_close(struct sh_room **room);

/* Takes a number for somebody who comes in; 0: there are SH_ROOM_VIEWERS_MAX already. To be
 * given up by sh_room_leave. He is in control where nobody is. */
unsigned sh_room_enter(struct sh_room *room);

/*
 * From now on viewer (kept until he leaves) is told everything: first hello, then what was
 * logged after since. SH_ERR_ARGUMENT: no such number, or he is there already; SH_ERR_MEMORY;
 * SH_ERR_FULL: he has been cut off.
 */
enum sh_status sh_room_join(struct sh_room *room,
                            unsigned id,
                            struct sh_viewer *viewer,
                            const char *hello,
                            uint64_t since);

/* He has gone: his viewer is not touched again. Others are told where he was in control. */
void sh_room_leave(struct sh_room *room, unsigned id);

/* Number of the last logged message, or first_seq. */
uint64_t sh_room_get_seq(struct sh_room *room);

/* Who is in control; 0: nobody. */
unsigned sh_room_get_controller(struct sh_room *room);

/* Takes control, or gives it up if he has it; all are told where that changes something. */
void sh_room_control(struct sh_room *room, unsigned id, bool take);

/* He wants to be told of the sensors, or no longer. */
void sh_room_watch(struct sh_room *room, unsigned id, bool is_on);
bool sh_room_is_watched(struct sh_room *room);

/* Who is told. */
enum sh_room_audience {
    SH_ROOM_ALL,
    SH_ROOM_LOGGED, /* all, and those who come back */
    SH_ROOM_WATCHERS
};

/* Tells a JSON object's text. SH_ERR_MEMORY: nobody was told. */
enum sh_status
sh_room_tell(struct sh_room *room, enum sh_room_audience audience, const char *text);

/* Tells one. Nothing where he has gone. */
void sh_room_answer(struct sh_room *room, unsigned id, const char *text);

#endif
