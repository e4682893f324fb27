/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_RECORDING_EDIT_H
#define SH_APP_RECORDING_EDIT_H

#include "recording/session.h"

/* What is done to a session between reading and writing: SH_OK, or a status with a line in err,
 * and nothing is written. */
struct sh_recording_edit {
    enum sh_status (*apply)(void *context, struct sh_session *session, struct sh_error *err);
    void *context;
};

/*
 * Reads folder's recording.json, applies an edit and writes it back whole; keys nobody knows,
 * and all that does not change, stay as they were written. A recording that is being captured
 * is refused with SH_ERR_BUSY. Statuses of sh_session_json_read and sh_session_json_write, and
 * the edit's. Test: tests/app/test_shelf.c, tests/loop/test_inspect.c.
 */
enum sh_status sh_recording_edit_run(const char *folder,
                                     const struct sh_recording_edit *edit,
                                     struct sh_error *err);

#endif
