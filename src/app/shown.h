/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_SHOWN_H
#define SH_APP_SHOWN_H

#include "app/format.h"
#include "base/status.h"

/*
 * Prints on standard output what a recording's end prints: the shots as they were shown, in the
 * format, or the folder's path as a line where format is NULL. SH_ERR_IO (standard output),
 * SH_ERR_MEMORY, SH_ERR_FULL, each with a line in err. Test: tests/loop/test_closed_loop.c.
 */
enum sh_status sh_shown_print(const char *folder,
                              const struct sh_format *format,
                              const struct sh_analysis *shown,
                              struct sh_error *err);

#endif
