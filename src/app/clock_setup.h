/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_CLOCK_SETUP_H
#define SH_APP_CLOCK_SETUP_H

#include "series/round_format.h"

/*
 * Finds a clock's format by name among those the program knows and, where rounds is given,
 * those of that file (see sh_round_format_read). SH_ERR_ARGUMENT: there is no such format, with
 * the names there are; statuses of sh_round_format_read. where is what that error names.
 * Test: tests/app/test_clock_setup.c.
 */
enum sh_status sh_clock_setup_find(const char *name,
                                   const char *rounds,
                                   const char *where,
                                   struct sh_round_format *out,
                                   struct sh_error *err);

/*
 * Sets values of a format: "shooting_s=100". SH_ERR_ARGUMENT: no '=', no such key, no value for
 * it.
 */
enum sh_status sh_clock_setup_set(struct sh_round_format *format,
                                  const char *setting,
                                  const char *where,
                                  struct sh_error *err);

#endif
