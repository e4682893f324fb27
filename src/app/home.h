/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_HOME_H
#define SH_APP_HOME_H

#include <stddef.h>
#include <time.h>

#include "base/status.h"

/*
 * Where a user's files lie: --home FOLDER, else $XDG_DATA_HOME/stringhand, else
 * ~/.local/share/stringhand (XDG Base Directory Specification). In it: recordings/, sensors/,
 * people/.
 */

#define SH_HOME_PATH_BYTES 4096u

/*
 * Writes the home folder's path. given may be NULL. Relative values of XDG_DATA_HOME are passed
 * over, as that specification asks. SH_ERR_NOT_FOUND where neither it nor HOME is set;
 * SH_ERR_FULL where the path does not fit.
 */
enum sh_status
sh_home_find(const char *given, char path[SH_HOME_PATH_BYTES], struct sh_error *err);

/*
 * Makes a folder and those above it, readable by the user alone (people's data). A folder that
 * is there already is fine. Statuses of the system call that failed.
 */
enum sh_status sh_home_make_folder(const char *path, struct sh_error *err);

/*
 * The name of a recording's folder: "2026-05-14_0930_wren", from the local time and the
 * athlete's name, whose bytes other than letters, digits, '-', '.' and '_' are percent-encoded
 * (RFC 3986), and so is a leading '.'. An empty name is left out with its underscore.
 * SH_ERR_FULL.
 */
enum sh_status sh_home_format_recording(const struct tm *local,
                                        const char *athlete,
                                        char *name,
                                        size_t size_bytes);

/*
 * The name of a folder: the last part of its path, whether or not that ends in slashes; of "."
 * and ".." that of the folder they stand for. Cut where it does not fit size_bytes.
 */
void sh_home_copy_name(const char *folder, char *name, size_t size_bytes);

#endif
