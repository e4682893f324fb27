/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/correction_file.h"

#include "app/recording_edit.h"

/* Marks to add, or the index of one to remove. */
struct change {
    const char *folder;
    const struct sh_mark *marks;
    size_t n;
    size_t index;
};

static enum sh_status add(void *context, struct sh_session *session, struct sh_error *err)
{
    const struct change *change = context;
    enum sh_status status = SH_OK;
    for (size_t i = 0; i < change->n && status == SH_OK; i++) {
        status = sh_session_add_mark(session, &change->marks[i]);
        if (status != SH_OK) {
            (void)sh_error_set(err, status, change->folder, NULL, "%s", sh_status_text(status));
        }
    }
    return status;
}

static enum sh_status take_away(void *context, struct sh_session *session, struct sh_error *err)
{
    const struct change *change = context;
    size_t index = change->index;
    if (index >= session->n_marks || session->marks[index].kind != SH_MARK_CORRECTION) {
        return sh_error_set(err, SH_ERR_NOT_FOUND, change->folder, "try again",
                            "the marks have changed meanwhile");
    }
    return sh_session_remove_mark(session, index);
}

enum sh_status sh_correction_file_add(const char *folder,
                                      const struct sh_mark *marks,
                                      size_t n,
                                      struct sh_error *err)
{
    struct change change = {.folder = folder, .marks = marks, .n = n};
    const struct sh_recording_edit edit = {add, &change};
    return sh_recording_edit_run(folder, &edit, err);
}

enum sh_status sh_correction_file_remove(const char *folder, size_t index, struct sh_error *err)
{
    struct change change = {.folder = folder, .index = index};
    const struct sh_recording_edit edit = {take_away, &change};
    return sh_recording_edit_run(folder, &edit, err);
}
