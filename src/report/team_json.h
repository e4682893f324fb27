/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_REPORT_TEAM_JSON_H
#define SH_REPORT_TEAM_JSON_H

#include "base/text.h"
#include "report/team_sheet.h"

/*
 * Appends a sheet as one JSON object, as docs/team.md has it. SH_ERR_MEMORY. Any thread. Test:
 * tests/report/test_team_sheet.c.
 */
enum sh_status sh_team_json_write(const struct sh_team_sheet *sheet, struct sh_text *text);

#endif
