/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "metrology/channel.h"

#include <string.h>

static const char *const role_names[] = {"string_force", "finger_force", "bow_acceleration",
                                         "clicker_contact", "sound"};
static const char *const axis_names[] = {"", "x", "y", "z"};
static const char *const finger_names[] = {"", "index", "middle", "ring"};

#define COUNT(names) (sizeof(names) / sizeof((names)[0]))

static bool find_name(const char *const *names, size_t n_names, const char *name, size_t *out)
{
    for (size_t i = 0; i < n_names; i++) {
        if (strcmp(names[i], name) == 0) {
            *out = i;
            return true;
        }
    }
    return false;
}

const char *sh_channel_role_name(enum sh_role role)
{
    return role_names[role];
}

const char *sh_channel_axis_name(enum sh_axis axis)
{
    return axis_names[axis];
}

const char *sh_channel_finger_name(enum sh_finger finger)
{
    return finger_names[finger];
}

bool sh_channel_role_find(const char *name, enum sh_role *out)
{
    size_t i = 0;
    if (!find_name(role_names, COUNT(role_names), name, &i)) {
        return false;
    }
    *out = (enum sh_role)i;
    return true;
}

bool sh_channel_axis_find(const char *name, enum sh_axis *out)
{
    size_t i = 0;
    if (name[0] == '\0' || !find_name(axis_names, COUNT(axis_names), name, &i)) {
        return false;
    }
    *out = (enum sh_axis)i;
    return true;
}

bool sh_channel_finger_find(const char *name, enum sh_finger *out)
{
    size_t i = 0;
    if (name[0] == '\0' || !find_name(finger_names, COUNT(finger_names), name, &i)) {
        return false;
    }
    *out = (enum sh_finger)i;
    return true;
}
