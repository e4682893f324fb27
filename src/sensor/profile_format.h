/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SENSOR_PROFILE_FORMAT_H
#define SH_SENSOR_PROFILE_FORMAT_H

#include "base/status.h"
#include "base/text.h"
#include "sensor/profile.h"

/*
 * A sensor profile back into its file, as a calibration or a set-up leaves it.
 * Test: tests/sensor/test_profile_format.c.
 */

/*
 * Appends the profile as an INI file. Numbers have as few digits as give the same double again,
 * so that parsing it gives the same profile; what is as it would be without its key is left
 * out. Columns that are not recorded are written as role = none. text->status says how it went.
 */
void sh_profile_format(const struct sh_profile *profile, struct sh_text *text);

/*
 * Replaces the file at path whole: written beside it (path and ".new"), synced, renamed.
 * Comments of the file before are not kept (sensor/profile_edit.h keeps them). A profile that
 * would not be read again as it is leaves the file alone: SH_ERR_FORMAT where it would be
 * refused (err says why), SH_ERR_ARGUMENT where it would be another one (a name with a comment
 * in it, say). Statuses of opening and writing, SH_ERR_MEMORY.
 */
enum sh_status sh_profile_format_write(const struct sh_profile *profile,
                                       const char *path,
                                       struct sh_error *err);

/*
 * Replaces the file at path by a text that is complete, in the same way, without looking at
 * it.
 */
enum sh_status
sh_profile_format_replace(const char *path, const struct sh_text *text, struct sh_error *err);

/*
 * Appends what a calibration settles of a column, as lines "key = value": point, or scale,
 * scale_u, quadratic, quadratic_u; zero, zero_u, noise, load_drift_*, calibrated.
 */
void sh_profile_format_calibration(const struct sh_channel *channel, struct sh_text *text);

/* Appends the rows of the crosstalk. */
void sh_profile_format_crosstalk(const struct sh_stream *stream, struct sh_text *text);

#endif
