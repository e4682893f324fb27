/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_CORRECTION_FILE_H
#define SH_APP_CORRECTION_FILE_H

#include <stddef.h>

#include "base/status.h"
#include "recording/mark.h"

/*
 * Corrections in a recording's recording.json, which is replaced whole; keys nobody knows, and
 * all that does not change, stay as they were written. A recording that is being captured is
 * refused with SH_ERR_BUSY. Also the statuses of sh_session_json_read and
 * sh_session_json_write. Test: tests/loop/test_inspect.c.
 */

/* Appends marks[n]. */
enum sh_status sh_correction_file_add(const char *folder,
                                      const struct sh_mark *marks,
                                      size_t n,
                                      struct sh_error *err);

/* Removes the mark at an index. SH_ERR_NOT_FOUND: it is no correction (any more). */
enum sh_status
sh_correction_file_remove(const char *folder, size_t index, struct sh_error *err);

#endif
