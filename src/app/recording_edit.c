/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/recording_edit.h"

#include "recording/folder_lock.h"
#include "recording/session_json.h"

enum sh_status sh_recording_edit_run(const char *folder,
                                     const struct sh_recording_edit *edit,
                                     struct sh_error *err)
{
    struct sh_session session = {.n_streams = 0};
    struct sh_session_json *kept = NULL;
    int lock = SH_FOLDER_LOCK_NONE;
    enum sh_status status = sh_folder_lock_take(folder, &lock, err);
    if (status == SH_OK) {
        status = sh_session_json_read(folder, &session, &kept, err);
    }
    if (status == SH_OK) {
        status = edit->apply(edit->context, &session, err);
    }
    if (status == SH_OK) {
        status = sh_session_json_write(folder, &session, kept, err);
    }
    sh_session_close(&session);
    sh_session_json_close(&kept);
    sh_folder_lock_drop(&lock);
    return status;
}
