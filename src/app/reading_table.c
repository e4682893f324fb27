/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/reading_table.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "app/table_line.h"
#include "metrology/hung_mass.h"

#define FIELDS_MAX 5u
#define TODO_LINE                                                                              \
    "write mass, counts, noise, samples, up or down; as in 5 kg, 4735.0, 3.0, 2000"

/* A line cut at its commas or semicolons, without outer blanks. */
struct fields {
    char *field[FIELDS_MAX];
    size_t n;
};

enum sh_status sh_reading_table_add(struct sh_reading_table *table,
                                    const struct sh_reading_table_row *row,
                                    int way)
{
    double largest_kg = 0.0;
    if (table->n == SH_CALIBRATION_READINGS_MAX) {
        return SH_ERR_FULL;
    }
    for (size_t i = 0; i < table->n; i++) {
        largest_kg = fmax(largest_kg, table->row[i].mass_kg);
    }
    /* the way down begins where a mass is taken off, and goes on at equal ones */
    const bool was_down = table->n > 0 && table->row[table->n - 1].is_down;
    const double last_kg = table->n > 0 ? table->row[table->n - 1].mass_kg : 0.0;
    const bool goes_down = row->mass_kg < last_kg || (was_down && row->mass_kg <= last_kg);
    table->row[table->n] = *row;
    table->row[table->n].is_down = way != 0 ? way < 0 : goes_down && largest_kg > 0.0;
    table->n++;
    return SH_OK;
}

/* False where there are more fields than any line has. */
static bool cut(char *line, struct fields *fields)
{
    fields->n = 0;
    for (char *at = line; at != NULL;) {
        if (fields->n == FIELDS_MAX) {
            return false;
        }
        char *next = sh_table_line_cut(at);
        fields->field[fields->n++] = sh_table_line_trim(at);
        at = next;
    }
    return true;
}

static bool read_number(const char *text, double low, double *out)
{
    char *end = NULL;
    const double value = strtod(text, &end);
    if (end == text || *end != '\0' || !isfinite(value) || value < low) {
        return false;
    }
    *out = value;
    return true;
}

static bool read_way(const char *text, int *way)
{
    *way = strcmp(text, "up") == 0 ? 1 : -1;
    return *way > 0 || strcmp(text, "down") == 0;
}

static bool add_steady(struct sh_reading_table *table, const struct fields *fields)
{
    const size_t n = table->n_steady;
    if (fields->n != 3 || n == SH_LOAD_DRIFT_POINTS_MAX ||
        !read_number(fields->field[1], 0.0, &table->steady_s[n]) ||
        !read_number(fields->field[2], -HUGE_VAL, &table->steady_counts[n])) {
        return false;
    }
    table->n_steady++;
    return true;
}

static bool
add_reading(struct sh_reading_table *table, struct fields *fields, enum sh_status *status)
{
    struct sh_reading_table_row row = {.n_samples = 1.0};
    int way = 0;
    /* the way may follow the counts at once */
    if (fields->n > 2 && read_way(fields->field[fields->n - 1], &way)) {
        fields->n--;
    } else {
        way = 0;
    }
    if (fields->n < 2 || fields->n > 4 || !sh_hung_mass_parse(fields->field[0], &row.mass_kg) ||
        !read_number(fields->field[1], -HUGE_VAL, &row.counts) ||
        (fields->n > 2 && !read_number(fields->field[2], 0.0, &row.noise_counts)) ||
        (fields->n > 3 && !read_number(fields->field[3], 1.0, &row.n_samples))) {
        return false;
    }
    *status = sh_reading_table_add(table, &row, way);
    return true;
}

static enum sh_status
take_line(void *context, char *line, const char *where, struct sh_error *err)
{
    struct sh_reading_table *table = context;
    struct fields fields = {.n = 0};
    enum sh_status status = SH_OK;
    const bool is_cut = cut(line, &fields) && fields.field[0] != NULL;
    const bool is_steady = is_cut && strcmp(fields.field[0], "steady") == 0;
    if (!is_cut ||
        !(is_steady ? add_steady(table, &fields) : add_reading(table, &fields, &status))) {
        return sh_error_set(err, SH_ERR_FORMAT, where, TODO_LINE, "this line cannot be read");
    }
    return status == SH_OK ? SH_OK
                           : sh_error_set(err, status, where, "leave some out",
                                          "over %u readings", SH_CALIBRATION_READINGS_MAX);
}

enum sh_status
sh_reading_table_read(const char *path, struct sh_reading_table *table, struct sh_error *err)
{
    const struct sh_table_line_sink sink = {take_line, table};
    *table = (struct sh_reading_table){0};
    enum sh_status status =
        sh_table_line_read(path, "give --from a file of readings", &sink, err);
    return status == SH_OK && table->n == 0
               ? sh_error_set(err, SH_ERR_FORMAT, path, TODO_LINE, "there is no reading in it")
               : status;
}
