/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SENSOR_PROFILE_COLUMN_H
#define SH_SENSOR_PROFILE_COLUMN_H

#include <stdbool.h>

#include "metrology/channel.h"
#include "sensor/profile_value.h"

/*
 * The [column N] section of a sensor profile: what one of the numbers of a frame means.
 * docs/sensor-profile.md lists the keys. Tests: tests/sensor/test_profile.c.
 */
struct sh_profile_column {
    struct sh_channel channel;
    bool is_recorded;   /* false: role = none, the number is left out */
    unsigned keys_seen; /* one bit a key */
};

/* A column of which nothing is known yet. */
void sh_profile_column_init(struct sh_profile_column *column);

/*
 * Takes one line of the section. SH_ERR_FORMAT, said in line->err: no such key, the key stands
 * there already, or its value is out of its kind or range.
 */
enum sh_status sh_profile_column_set(struct sh_profile_column *column,
                                     const struct sh_profile_line *line);

/*
 * Checks the section as a whole and fills in the role's unit. where: its head, for a person.
 * SH_ERR_FORMAT, said in err: a key is missing or does not go with the role.
 */
enum sh_status sh_profile_column_finish(struct sh_profile_column *column,
                                        const char *where,
                                        struct sh_error *err);

#endif
