/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SENSOR_PROFILE_EDIT_H
#define SH_SENSOR_PROFILE_EDIT_H

#include <stddef.h>

#include "base/status.h"
#include "base/text.h"
#include "sensor/profile.h"

/*
 * A calibration put into the file of a sensor profile as a person wrote it: only the lines that
 * a calibration settles change, all else stays byte for byte, comments and order too.
 * Test: tests/sensor/test_profile_edit.c.
 */

#define SH_PROFILE_EDIT_BACKUPS_MAX 999u

/*
 * Appends the profile text (n_bytes, called name in messages) with the calibration and the
 * crosstalk of profile, which is as it was read but for these. Where a column's calibration
 * differs its old lines make place for the new ones; a comment behind an old one stays, on a
 * line of its own. A [crosstalk] that was not there comes at the stream's end.
 *
 * SH_ERR_FORMAT: the old text cannot be read (err says why). SH_ERR_ARGUMENT: the result would
 * not read as profile (something else differs). SH_ERR_MEMORY. On a failure text holds a part.
 */
enum sh_status sh_profile_edit_format(const char *old,
                                      size_t n_bytes,
                                      const char *name,
                                      const struct sh_profile *profile,
                                      struct sh_text *text,
                                      struct sh_error *err);

/*
 * Does this to the file at path: what it was goes to the first free of path.1, path.2, ...
 * (SH_PROFILE_EDIT_BACKUPS_MAX at most, else SH_ERR_FULL), whose name is appended to backup;
 * then the file is replaced whole (written beside it, synced, renamed). Until that rename the
 * old file stands. Statuses above and of opening, reading and writing.
 */
enum sh_status sh_profile_edit_write(const struct sh_profile *profile,
                                     const char *path,
                                     struct sh_text *backup,
                                     struct sh_error *err);

#endif
