/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_LOAD_BOOK_H
#define SH_APP_LOAD_BOOK_H

#include "app/diary.h"
#include "report/load_sheet.h"

/*
 * An athlete's diary worked out into what a report of loads is made of.
 */
struct sh_load_book {
    struct sh_diary diary;
    struct sh_day_load_list days;
    struct sh_load_history history;
    struct sh_load_sheet_limit *limits;     /* owned */
    struct sh_load_sheet_verdict *verdicts; /* owned */
    struct sh_load_sheet_sensor *sensors;   /* owned */
    struct sh_load_sheet sheet;             /* into all that */
};

#define SH_LOAD_BOOK_DAYS 28 /* shown, where no first day is asked for */

struct sh_load_book_config {
    const char *home;
    const char *athlete;
    bool has_first;
    int first_day;
    int last_day;
    double level_n; /* 0: none */
};

/*
 * Reads and works out. Days before the first of which anything is known are not shown. *book is
 * to be closed whatever comes back. Statuses of sh_diary_read, SH_ERR_MEMORY, SH_ERR_FULL (over
 * SH_DAY_LOAD_DAYS_MAX days), SH_ERR_ARGUMENT (the first day behind the last).
 * Test: tests/app/test_load_book.c.
 */
enum sh_status sh_load_book_open(const struct sh_load_book_config *config,
                                 struct sh_load_book *book,
                                 struct sh_error *err);

/* Frees all and zeroes. Takes a zeroed book. */
void sh_load_book_close(struct sh_load_book *book);

#endif
