/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_TABLE_LINE_H
#define SH_APP_TABLE_LINE_H

#include <stddef.h>

#include "base/status.h"

/*
 * Tables as people write them: a row a line, '#' begins a comment, fields between commas or
 * semicolons. Test: tests/app/test_reading_table.c.
 */

#define SH_TABLE_LINE_FILE_BYTES 1048576u /* longer files are refused */

/* Takes one row, without comment and outer blanks, never empty; it may be written into. */
struct sh_table_line_sink {
    enum sh_status (*take)(void *context, char *line, const char *where, struct sh_error *err);
    void *context;
};

/*
 * Reads a file and hands on its rows; where is "FILE:LINE". todo: what to advise where the file
 * is not there. The sink's status; statuses of sh_file_text_read.
 */
enum sh_status sh_table_line_read(const char *path,
                                  const char *todo,
                                  const struct sh_table_line_sink *sink,
                                  struct sh_error *err);

/* Cuts outer blanks off in place; where the text now begins. */
char *sh_table_line_trim(char *text);

/* Cuts text at its first comma or semicolon and gives what follows, or NULL. */
char *sh_table_line_cut(char *text);

#endif
