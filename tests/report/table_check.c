/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/table_check.h"

#include <ctype.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

#include "support/cmocka_all.h"

#define HEADS_MAX  40u
#define WORD_BYTES 256u
#define CELL_BYTES 1024u

/* The table that is read. */
struct table {
    const char *const *plain;
    const char *const *worked_out;
    char head[HEADS_MAX][WORD_BYTES];
    size_t n_heads;
    size_t column; /* of the next cell */
    size_t n_cells;
};

/* What a reader sees up to an end tag; tags are blanks. Gives what follows the end tag. */
static const char *read_cell(const char *at, const char *end_tag, char *to, size_t n_bytes)
{
    const char *end = strstr(at, end_tag);
    bool is_tag = false;
    size_t n = 0;
    assert_non_null(end);
    for (; at < end; at++) {
        is_tag = is_tag || *at == '<';
        char c = *at;
        if (is_tag) {
            c = ' ';
        }
        if ((c != ' ' || (n > 0 && to[n - 1] != ' ')) && n + 1 < n_bytes) {
            to[n++] = c;
        }
        is_tag = is_tag && *at != '>';
    }
    while (n > 0 && to[n - 1] == ' ') {
        n--;
    }
    to[n] = '\0';
    return end + strlen(end_tag);
}

static bool is_listed(const char *head, const char *const *list)
{
    for (size_t i = 0; list[i] != NULL; i++) {
        if (strcmp(head, list[i]) == 0) {
            return true;
        }
    }
    return false;
}

static bool ends_with_unit(const char *string)
{
    static const char *const units[] = {"s",    "ms", "N",          "N s",   "mm",
                                        "Hz",   "%",  "draw",       "draws", "sessions",
                                        "ends", "1",  "m/s\xC2\xB2"};
    const size_t n = strlen(string);
    for (size_t i = 0; i < sizeof units / sizeof units[0]; i++) {
        const size_t n_unit = strlen(units[i]);
        if (n > n_unit && strcmp(string + n - n_unit, units[i]) == 0 &&
            string[n - n_unit - 1] == ' ') {
            return true;
        }
    }
    return false;
}

static bool has_uncertainty(const char *cell)
{
    static const char *const words[] = {"\xC2\xB1", " to ", "over ", "under ", "at least "};
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++) {
        if (strstr(cell, words[i]) != NULL) {
            return true;
        }
    }
    return false;
}

static void check_cell(struct table *table, const char *cell)
{
    assert_true(table->column < table->n_heads);
    const char *head = table->head[table->column++];
    if (strpbrk(cell, "0123456789") == NULL || is_listed(head, table->plain)) {
        return;
    }
    table->n_cells++;
    if (!ends_with_unit(cell) && !ends_with_unit(head)) {
        fail_msg("no unit: '%s' under '%s'", cell, head);
    }
    const bool is_nothing = strncmp(cell, "0 ", 2) == 0; /* a day of rest carries just that */
    if (!has_uncertainty(cell) && !is_nothing && !is_listed(head, table->worked_out)) {
        fail_msg("no uncertainty: '%s' under '%s'", cell, head);
    }
}

/* The name that stands beside a cell where there are no columns is that of its column. */
static void check_label(const struct table *table, const char *at)
{
    static const char key[] = " data-label=\"";
    char label[WORD_BYTES];
    const char *end = strchr(at, '>');
    const char *begin = strstr(at, key);
    assert_true(table->column < table->n_heads);
    if (begin != NULL && begin < end) {
        (void)read_cell(begin + strlen(key), "\"", label, sizeof label);
        assert_string_equal(label, table->head[table->column]);
    }
}

/* A cell of figures, not one of words over many columns. */
static bool is_figure(const char *at)
{
    static const char *const begins[] = {"<td>", "<td class=\"two\"", "<td data-label="};
    for (size_t i = 0; i < sizeof begins / sizeof begins[0]; i++) {
        if (strncmp(at, begins[i], strlen(begins[i])) == 0) {
            return true;
        }
    }
    return false;
}

size_t table_check(const char *page, const char *const *plain, const char *const *worked_out)
{
    struct table table = {.plain = plain, .worked_out = worked_out};
    for (const char *at = strchr(page, '<'); at != NULL; at = strchr(at, '<')) {
        char cell[CELL_BYTES];
        if (strncmp(at, "<table", 6) == 0) {
            table.n_heads = 0;
        } else if (strncmp(at, "<tr", 3) == 0) {
            table.column = 0;
        } else if (strncmp(at, "<th scope=\"col\"", 15) == 0) {
            assert_true(table.n_heads < HEADS_MAX);
            at = read_cell(strchr(at, '>') + 1, "</th>", table.head[table.n_heads++],
                           WORD_BYTES);
            continue;
        } else if (strncmp(at, "<th scope=\"row\"", 15) == 0) {
            table.column++;
        } else if (is_figure(at)) {
            check_label(&table, at);
            at = read_cell(strchr(at, '>') + 1, "</td>", cell, sizeof cell);
            check_cell(&table, cell);
            continue;
        }
        at++;
    }
    return table.n_cells;
}
