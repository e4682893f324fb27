/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_REPORT_LIMIT_LIST_H
#define SH_REPORT_LIMIT_LIST_H

#include "base/text.h"
#include "recording/json_put.h"
#include "report/load_sheet.h"

/*
 * The limits of a person as they stand on a day. Borrows all. Test of all:
 * tests/report/test_load_words.c.
 */
struct sh_limit_list {
    const char *athlete;
    int day;
    const struct sh_load_sheet_limit *entries;
    size_t n_entries;
};

/* Appends the list for a terminal, with the cautions. SH_ERR_MEMORY, SH_ERR_FULL. */
enum sh_status sh_limit_list_write_table(const struct sh_limit_list *list,
                                         struct sh_text *text);

/* The same as JSON, "stringhand-limits" version 1 (docs/load.md). Also SH_ERR_NOT_FINITE. */
enum sh_status sh_limit_list_write_json(const struct sh_limit_list *list, struct sh_text *text);

/* Writes one limit into an empty object, as both JSON outputs have it. */
void sh_limit_list_put(struct sh_json_put *put,
                       json_t *object,
                       const struct sh_load_sheet_limit *entry);

/* Writes the cautions as the list "cautions" of root. */
void sh_limit_list_put_cautions(struct sh_json_put *put, json_t *root);

#endif
