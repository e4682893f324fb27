/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/correction_file.h"

#include <string.h>

#include "recording/folder_lock.h"
#include "recording/session_json.h"

/* recording.json while it is changed. */
struct change {
    const char *folder;
    int lock;
    struct sh_session session;
    struct sh_session_json *kept;
};

static enum sh_status begin(struct change *change, const char *folder, struct sh_error *err)
{
    *change = (struct change){.folder = folder, .lock = SH_FOLDER_LOCK_NONE};
    enum sh_status status = sh_folder_lock_take(folder, &change->lock, err);
    return status == SH_OK ? sh_session_json_read(folder, &change->session, &change->kept, err)
                           : status;
}

/* Writes the change where all went well so far, and closes. */
static enum sh_status end(struct change *change, enum sh_status status, struct sh_error *err)
{
    if (status == SH_OK) {
        status = sh_session_json_write(change->folder, &change->session, change->kept, err);
    }
    sh_session_close(&change->session);
    sh_session_json_close(&change->kept);
    sh_folder_lock_drop(&change->lock);
    return status;
}

enum sh_status sh_correction_file_add(const char *folder,
                                      const struct sh_mark *marks,
                                      size_t n,
                                      struct sh_error *err)
{
    struct change change;
    enum sh_status status = begin(&change, folder, err);
    for (size_t i = 0; i < n && status == SH_OK; i++) {
        status = sh_session_add_mark(&change.session, &marks[i]);
        if (status != SH_OK) {
            (void)sh_error_set(err, status, folder, NULL, "%s", sh_status_text(status));
        }
    }
    return end(&change, status, err);
}

enum sh_status sh_correction_file_remove(const char *folder, size_t index, struct sh_error *err)
{
    struct change change;
    enum sh_status status = begin(&change, folder, err);
    struct sh_session *session = &change.session;
    if (status == SH_OK &&
        (index >= session->n_marks || session->marks[index].kind != SH_MARK_CORRECTION)) {
        status = sh_error_set(err, SH_ERR_NOT_FOUND, folder, "try again",
                              "the marks have changed meanwhile");
    }
    if (status == SH_OK) {
        session->n_marks--;
        memmove(&session->marks[index], &session->marks[index + 1],
                (session->n_marks - index) * sizeof *session->marks);
    }
    return end(&change, status, err);
}
