/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SENSOR_PROFILE_BUILDER_H
#define SH_SENSOR_PROFILE_BUILDER_H

#include <stddef.h>

#include "sensor/profile.h"
#include "sensor/profile_column.h"
#include "sensor/profile_value.h"

/*
 * Puts a profile together from its keys, in the order in which they stand, and checks what they
 * say; sensor/profile.h reads the file. docs/sensor-profile.md has sections and keys.
 * Tests: tests/sensor/test_profile.c.
 */

#define SH_PROFILE_SECTION_BYTES 50u /* inih cuts longer heads to this without a word */

enum sh_profile_section {
    SH_PROFILE_SECTION_NONE,
    SH_PROFILE_SECTION_SENSOR,
    SH_PROFILE_SECTION_STREAM,
    SH_PROFILE_SECTION_COLUMN,
    SH_PROFILE_SECTION_CROSSTALK
};

struct sh_profile_builder {
    struct sh_profile *profile;
    struct sh_error *err;
    enum sh_profile_section section;
    char section_name[SH_PROFILE_SECTION_BYTES];
    char where[SH_ERROR_WHERE_BYTES];         /* of the line being taken */
    char section_where[SH_ERROR_WHERE_BYTES]; /* of the first key of the section */
    char stream_where[SH_ERROR_WHERE_BYTES];  /* of the first key of the stream */
    unsigned sensor_given;                    /* one bit a key */
    unsigned stream_given;
    size_t n_crosstalk_rows;
    struct sh_profile_column column;
};

/* An empty profile. Keeps profile and err; profile is complete after a finish without error. */
void sh_profile_builder_init(struct sh_profile_builder *builder,
                             struct sh_profile *profile,
                             struct sh_error *err);

/* Takes one line of the section named. SH_ERR_FORMAT, said in err. line->err is the same err.
 */
enum sh_status sh_profile_builder_push(struct sh_profile_builder *builder,
                                       const char *section,
                                       const struct sh_profile_line *line);

/* The end of the profile called name. SH_ERR_FORMAT where something is missing, said in err. */
enum sh_status sh_profile_builder_finish(struct sh_profile_builder *builder, const char *name);

#endif
