/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "finding/limit_kind.h"

#include <string.h>

#include "metrology/channel.h"

#define PER_CENT 100.0

static enum sh_limit_what find_what(enum sh_measure measure)
{
    switch ((int)measure) {
    case SH_MEASURE_FINGER_PEAK:
        return SH_LIMIT_WHAT_PEAK;
    case SH_MEASURE_FINGER_IMPULSE:
        return SH_LIMIT_WHAT_IMPULSE;
    case SH_MEASURE_FINGER_SHARE:
        return SH_LIMIT_WHAT_SHARE;
    default:
        return SH_LIMIT_WHAT_MEASURE;
    }
}

bool sh_limit_kind_find(const char *what, struct sh_limit_kind *out)
{
    enum sh_measure measure = SH_MEASURE_COUNT;
    if (strcmp(what, "draws") == 0) {
        *out = (struct sh_limit_kind){SH_LIMIT_WHAT_DRAWS, SH_MEASURE_COUNT, "number of draws",
                                      "draws", 1.0};
        return true;
    }
    if (strcmp(what, "rest_s") == 0) {
        *out = (struct sh_limit_kind){SH_LIMIT_WHAT_REST, SH_MEASURE_COUNT,
                                      "rest between draws", "s", 1.0};
        return true;
    }
    if (!sh_catalog_find(what, &measure)) {
        return false;
    }
    const struct sh_catalog_row *row = sh_catalog_get_row(measure);
    bool is_share = row->parts == SH_PARTS_FINGERS && strcmp(row->symbol, "1") == 0;
    *out = (struct sh_limit_kind){.what = find_what(measure),
                                  .measure = measure,
                                  .title = row->title,
                                  .unit = is_share ? "%" : row->symbol,
                                  .factor = is_share ? PER_CENT : 1.0};
    return true;
}

/* Whether the finger fits: needed, optional or not to be named. */
static const char *check_finger(const struct sh_limit_kind *kind, const char *finger)
{
    enum sh_finger found = SH_FINGER_NONE;
    bool has_fingers = kind->measure != SH_MEASURE_COUNT &&
                       sh_catalog_get_row(kind->measure)->parts == SH_PARTS_FINGERS;
    if (finger[0] != '\0' && !sh_channel_finger_find(finger, &found)) {
        return "there is no such finger: take index, middle or ring";
    }
    if (finger[0] != '\0' && !has_fingers) {
        return "this is no figure of a finger: leave the finger out";
    }
    if (finger[0] == '\0' && has_fingers && kind->what != SH_LIMIT_WHAT_IMPULSE) {
        return "name a finger: index, middle or ring";
    }
    return NULL;
}

static const char *check_span(const struct sh_limit_kind *kind, const char *per)
{
    bool is_shot = strcmp(per, "shot") == 0;
    bool is_span = strcmp(per, "session") == 0 || strcmp(per, "day") == 0;
    if (!is_shot && !is_span) {
        return "there is no such span: take shot, session or day";
    }
    if (is_shot && kind->what == SH_LIMIT_WHAT_DRAWS) {
        return "a shot is one draw: limit the draws of a session or a day";
    }
    if (is_span && (kind->what == SH_LIMIT_WHAT_REST || kind->what == SH_LIMIT_WHAT_MEASURE)) {
        return "this can be limited for each shot only: take shot";
    }
    return NULL;
}

const char *
sh_limit_kind_check(const char *what, const char *finger, const char *per, bool is_most)
{
    struct sh_limit_kind kind;
    if (!sh_limit_kind_find(what, &kind)) {
        return "nothing of this name can be limited: take finger_peak_n, finger_impulse_n_s, "
               "finger_share, draws, rest_s or another measure's key";
    }
    if (kind.measure != SH_MEASURE_COUNT &&
        sh_catalog_get_row(kind.measure)->parts == SH_PARTS_BANDS) {
        return "a list of bands cannot be limited: take another measure";
    }
    if (kind.what == SH_LIMIT_WHAT_REST && is_most) {
        return "rest has a least, no most: take least";
    }
    const char *wrong = check_finger(&kind, finger);
    return wrong != NULL ? wrong : check_span(&kind, per);
}
