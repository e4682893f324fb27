/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_RECORDING_LIST_H
#define SH_APP_RECORDING_LIST_H

#include <stddef.h>

#include "base/status.h"

/*
 * The folders below some others that hold a recording (a recording.json), in the order of their
 * paths. Test of all: tests/app/test_recording_list.c.
 */

#define SH_RECORDING_LIST_DEPTH_MAX 4u      /* folders below a root that are looked into */
#define SH_RECORDING_LIST_MAX       100000u /* recordings */

struct sh_recording_list {
    char **folder; /* owned, [n]; whole paths, without links */
    size_t n;
    size_t capacity;
};

/*
 * Adds what lies below root, and root itself where it is a recording. Nothing is looked for
 * inside a recording. Symbolic links are followed for root alone. Folders that cannot be read
 * are passed over below root. SH_ERR_NOT_FOUND, SH_ERR_PERMISSION of root; SH_ERR_MEMORY;
 * SH_ERR_FULL. The list is to be closed whatever comes back.
 */
enum sh_status
sh_recording_list_add(struct sh_recording_list *list, const char *root, struct sh_error *err);

/* Sorts, and drops what is there twice. */
void sh_recording_list_settle(struct sh_recording_list *list);

/* Frees what it owns and zeroes it. Takes a zeroed list. */
void sh_recording_list_close(struct sh_recording_list *list);

#endif
