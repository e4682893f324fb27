/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_REPORT_TEAM_TABLE_H
#define SH_REPORT_TEAM_TABLE_H

#include "base/text.h"
#include "report/team_sheet.h"

/*
 * Appends a sheet for people: sentences, then every order with the time left as each archer
 * begins and ends a turn, in lines of 80 columns. SH_ERR_MEMORY. Any thread. Test:
 * tests/report/test_team_sheet.c.
 */
enum sh_status sh_team_table_write(const struct sh_team_sheet *sheet, struct sh_text *text);

#endif
