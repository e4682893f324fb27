/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shot/event_share.h"

static struct sh_event_share get_force(const struct sh_shot_force *force)
{
    return (struct sh_event_share){.is_known = true,
                                   .stream = force->stream,
                                   .channel = force->channel[0],
                                   .clock_u_s = force->time_u_s,
                                   .delay_u_s = force->delay_u_s};
}

/* Of the first channel of a role. */
static struct sh_event_share get_role(const struct sh_shot_view *view, enum sh_role role)
{
    size_t s = 0;
    size_t c = 0;
    if (!sh_shot_view_find(view, role, SH_AXIS_NONE, SH_FINGER_NONE, &s, &c)) {
        return (struct sh_event_share){.is_known = false};
    }
    const struct sh_shot_stream *stream = &view->stream[s];
    return (struct sh_event_share){.is_known = true,
                                   .stream = s,
                                   .channel = c,
                                   .clock_u_s = stream->time_u_s,
                                   .delay_u_s = stream->stream->channel[c].delay_u_s};
}

static struct sh_event_share get_clicker(const struct sh_shot_view *view,
                                         enum sh_clicker_sensor sensor)
{
    switch (sensor) {
    case SH_CLICKER_CONTACT:
        return get_role(view, SH_ROLE_CLICKER_CONTACT);
    case SH_CLICKER_ACCELERATION:
        return get_role(view, SH_ROLE_BOW_ACCELERATION);
    case SH_CLICKER_SOUND:
        return get_role(view, SH_ROLE_SOUND);
    case SH_CLICKER_NONE:
        break;
    }
    return (struct sh_event_share){.is_known = false};
}

void sh_event_share_set(const struct sh_shot_view *view, struct sh_shot *shot)
{
    static const enum sh_event of_force[] = {SH_EVENT_DRAW_START, SH_EVENT_FULL_DRAW,
                                             SH_EVENT_RELEASE, SH_EVENT_LET_DOWN};
    const bool has_force = view->force.is_present;
    for (size_t i = 0; i < sizeof of_force / sizeof of_force[0]; i++) {
        if (sh_quantity_is_known(&shot->event_s[of_force[i]])) {
            shot->event_share[of_force[i]] =
                has_force ? get_force(&view->force) : get_role(view, SH_ROLE_BOW_ACCELERATION);
        }
    }
    if (sh_quantity_is_known(&shot->event_s[SH_EVENT_CLICKER])) {
        shot->event_share[SH_EVENT_CLICKER] = get_clicker(view, shot->clicker_sensor);
    }
}
