/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_RECORDING_FILE_TEXT_H
#define SH_RECORDING_FILE_TEXT_H

#include "base/text.h"

/*
 * Appends a whole file to text, whose own limit bounds it. Only a regular file is read: a pipe
 * or a device in its place is refused rather than waited for.
 * SH_ERR_NOT_FOUND, SH_ERR_PERMISSION, SH_ERR_IO, SH_ERR_MEMORY, SH_ERR_FULL (over the limit),
 * SH_ERR_FORMAT (no regular file). todo: what err advises where the file is not there.
 * Any thread. Test: tests/recording/test_file_text.c.
 */
enum sh_status sh_file_text_read(const char *path,
                                 const char *todo,
                                 struct sh_text *text,
                                 struct sh_error *err);

#endif
