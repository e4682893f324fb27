/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_REPORT_HISTORY_LIST_H
#define SH_REPORT_HISTORY_LIST_H

#include "base/text.h"
#include "history/index_query.h"

/*
 * The list of all recordings for people and for programs. Test of all:
 * tests/report/test_history_list.c.
 */
struct sh_history_list {
    struct sh_index_entry *entries; /* owned, in order of time */
    size_t n;
    size_t capacity;
};

/* Appends (copies). SH_ERR_MEMORY. */
enum sh_status sh_history_list_add(struct sh_history_list *list,
                                   const struct sh_index_entry *entry);

/* Frees what it owns and zeroes it. Takes a zeroed list. */
void sh_history_list_close(struct sh_history_list *list);

/*
 * Each appends the list to text and gives its status. Table: an archer a line with the number
 * of recordings and draws and the first and last day (local to each recording); JSON and CSV: a
 * recording each, keys as in docs/history.md.
 */
enum sh_status sh_history_list_write_table(const struct sh_history_list *list,
                                           struct sh_text *text);
enum sh_status sh_history_list_write_json(const struct sh_history_list *list,
                                          struct sh_text *text);
enum sh_status sh_history_list_write_csv(const struct sh_history_list *list,
                                         struct sh_text *text);

#endif
