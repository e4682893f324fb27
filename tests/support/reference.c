/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "support/reference.h"

#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "support/cmocka_all.h"

#define NAME_BYTES 64u
#define LINE_BYTES 256u

struct array {
    char name[NAME_BYTES];
    size_t n;
    double *values;
};

struct sh_reference_file {
    char name[NAME_BYTES];
    size_t n_arrays;
    struct array *arrays;
};

/* The rows' file of this run, opened at its first row. */
static FILE *get_rows_file(const char *path)
{
    /* NOLINTNEXTLINE(cppcoreguidelines-avoid-non-const-global-variables) */
    static FILE *stream;
    if (stream == NULL) {
        stream = fopen(path, "w");
    }
    return stream;
}

static void
keep_row(const char *check, const char *source, double expected, double got, double tolerance)
{
    const char *path = getenv("STRINGHAND_ROWS");
    if (path == NULL) {
        return;
    }
    FILE *stream = get_rows_file(path);
    if (stream == NULL ||
        fprintf(stream, "%s\t%s\t%.17g\t%.17g\t%.17g\n", check, source, expected, got,
                tolerance) < 0 ||
        fflush(stream) != 0) {
        fail_msg("%s: the row of %s cannot be written", path, check);
    }
}

static void
print_row(const char *check, const char *source, double expected, double got, double tolerance)
{
    bool is_near = fabs(got - expected) <= tolerance;
    keep_row(check, source, expected, got, tolerance);
    print_message("REF | %s | %s | %.15g | %.15g | %.3g | %s\n", check, source, expected, got,
                  tolerance, is_near ? "ok" : "OFF");
    if (!is_near) {
        fail_msg("%s is off by %.3g, allowed %.3g", check, fabs(got - expected), tolerance);
    }
}

void sh_reference_row(
    const char *check, const char *source, double expected, double got, double tolerance)
{
    print_row(check, source, expected, got, tolerance);
}

void sh_reference_series(const char *check,
                         const char *source,
                         const double *expected,
                         const double *got,
                         size_t n,
                         double tolerance)
{
    double peak = 0.0;
    double off = 0.0;
    for (size_t i = 0; i < n; i++) {
        double here = fabs(got[i] - expected[i]);
        peak = fmax(peak, fabs(expected[i]));
        off = here > off || isnan(here) ? here : off;
    }
    print_row(check, source, 0.0, peak > 0.0 ? off / peak : off, tolerance);
}

/* Reads "array NAME COUNT"; false at the end of the file. */
static bool read_head(FILE *stream, const char *file, struct array *array)
{
    char line[LINE_BYTES];
    do {
        if (fgets(line, sizeof(line), stream) == NULL) {
            return false;
        }
    } while (line[0] == '#');
    const char *name = strchr(line, ' ');
    const char *count = strrchr(line, ' ');
    bool is_head = strncmp(line, "array ", 6) == 0 && count > name + 1;
    array->n = is_head ? strtoul(count, NULL, 10) : 0;
    if (array->n == 0 || count - name > (ptrdiff_t)NAME_BYTES) {
        fail_msg("%s: expected an array, found: %s", file, line);
        return false;
    }
    memcpy(array->name, name + 1, (size_t)(count - name - 1));
    return true;
}

static double read_number(FILE *stream, const char *file, const char *name)
{
    char line[LINE_BYTES];
    char *end = line;
    double value = 0.0;
    if (fgets(line, sizeof(line), stream) != NULL) {
        value = strtod(line, &end);
    }
    if (end == line) {
        fail_msg("%s: a number of %s is missing", file, name);
    }
    return value;
}

/* Reads one block into the file; false at the end. */
static bool read_array(FILE *stream, struct sh_reference_file *file)
{
    struct array array = {.n = 0};
    if (!read_head(stream, file->name, &array)) {
        return false;
    }
    array.values = calloc(array.n, sizeof(*array.values));
    assert_non_null(array.values);
    for (size_t i = 0; i < array.n; i++) {
        array.values[i] = read_number(stream, file->name, array.name);
    }
    struct array *arrays = realloc(file->arrays, (file->n_arrays + 1) * sizeof(*file->arrays));
    assert_non_null(arrays);
    file->arrays = arrays;
    file->arrays[file->n_arrays++] = array;
    return true;
}

struct sh_reference_file *sh_reference_open(const char *name)
{
    char path[512];
    (void)snprintf(path, sizeof(path), "%s/reference/values/%s.txt", SH_TESTS_DIR, name);
    FILE *stream = fopen(path, "r");
    if (stream == NULL) {
        fail_msg("%s is missing", path);
    }
    struct sh_reference_file *file = calloc(1, sizeof(*file));
    assert_non_null(file);
    (void)snprintf(file->name, sizeof(file->name), "%s", name);
    while (read_array(stream, file)) {
    }
    (void)fclose(stream);
    return file;
}

void sh_reference_close(struct sh_reference_file **file)
{
    if (file == NULL || *file == NULL) {
        return;
    }
    for (size_t i = 0; i < (*file)->n_arrays; i++) {
        free((*file)->arrays[i].values);
    }
    free((*file)->arrays);
    free(*file);
    *file = NULL;
}

const double *
sh_reference_get(const struct sh_reference_file *file, const char *name, size_t *n)
{
    size_t i = 0;
    while (i < file->n_arrays && strcmp(file->arrays[i].name, name) != 0) {
        i++;
    }
    if (i == file->n_arrays) {
        fail_msg("%s has no array %s", file->name, name);
        return NULL;
    }
    if (n != NULL) {
        *n = file->arrays[i].n;
    }
    return file->arrays[i].values;
}
