/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_EDIT_JSON_H
#define SH_APP_EDIT_JSON_H

#include <jansson.h>

#include "base/status.h"
#include "recording/session.h"
#include "shot/shot.h"

/*
 * What a viewer says of a change (docs/live.md), of a recording that runs or of one that has
 * ended. Each is SH_ERR_ARGUMENT, with the line for him in err, where it makes no sense. Any
 * thread. Test of all: tests/app/test_edit_json.c.
 */

/* {"key", "value"}: a value that is missing or empty takes the tag away. */
enum sh_status
sh_edit_json_read_tag(const json_t *object, struct sh_tag *tag, struct sh_error *err);

/* {"event": "clicker_s"}. */
enum sh_status
sh_edit_json_read_event(const json_t *object, enum sh_event *event, struct sh_error *err);

/*
 * {"event", "value_s"}, a time, or null where the event did not happen: the mark of it, about
 * draw n, whose own time in the recording is time_s.
 */
enum sh_status sh_edit_json_read_correction(const json_t *object,
                                            unsigned n,
                                            double time_s,
                                            struct sh_mark *mark,
                                            struct sh_error *err);

#endif
