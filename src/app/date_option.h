/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_DATE_OPTION_H
#define SH_APP_DATE_OPTION_H

#include <stdbool.h>

#include "base/status.h"

/* Today by the machine's clock, where it stands (base/day.h). */
int sh_date_option_get_today(void);

/*
 * Reads a day from an option or operand: "2026-05-14", "today" or "yesterday". where names it
 * in err. SH_ERR_ARGUMENT. Test: tests/app/test_date_option.c.
 */
enum sh_status
sh_date_option_parse(const char *where, const char *text, int *day, struct sh_error *err);

#endif
