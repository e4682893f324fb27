/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/capture_inside.h"

enum sh_status sh_capture_keep_mark(struct sh_capture *capture,
                                    const struct sh_mark *mark,
                                    struct sh_error *err)
{
    if (capture->take == NULL) {
        return SH_OK; /* a clock that runs while nothing is recorded */
    }
    enum sh_status status = sh_take_add_mark(capture->take, mark, err);
    if (status == SH_OK) {
        sh_capture_fronts_mark(&capture->fronts, mark);
    }
    return status;
}

const struct sh_session *sh_capture_get_session(const struct sh_capture *capture)
{
    return sh_take_get_session(capture->take);
}

enum sh_status
sh_capture_remove_mark(struct sh_capture *capture, size_t index, struct sh_error *err)
{
    return sh_take_remove_mark(capture->take, index, err);
}

enum sh_status
sh_capture_set_tag(struct sh_capture *capture, const struct sh_tag *tag, struct sh_error *err)
{
    enum sh_status status = sh_take_set_tag(capture->take, tag, err);
    /* the next recording's session is no other than this one's: it takes what that took */
    return status == SH_OK ? sh_session_set_tag(capture->setup->session, tag) : status;
}

enum sh_status sh_capture_amend(struct sh_capture *capture,
                                struct sh_shot_record *records,
                                size_t n,
                                struct sh_error *err)
{
    sh_take_amend(capture->take, records, n);
    capture->last_shot = 0;
    for (size_t i = 0; i < n; i++) {
        (void)sh_analysis_replace(&capture->shown,
                                  &records[i]); /* not there without a format */
        if (records[i].shot.kind == SH_SHOT_SHOT) {
            capture->last_shot = records[i].shot.n;
        }
    }
    return sh_limit_voice_amend(&capture->voice, records, n, err);
}
