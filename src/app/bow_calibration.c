/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/bow_calibration.h"

#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "app/say.h"
#include "app/table_line.h"
#include "base/units.h"
#include "metrology/force_draw.h"
#include "recording/bow_file.h"
#include "report/figure.h"
#include "report/shot_json.h"

#define BLANKS      " \t"
#define FORCE_MAX_N 400.0
#define TODO_LINE   "write a draw length and a force, as in 26 in, 33.5 lb"

struct table {
    struct sh_force_draw_row row[SH_FORCE_DRAW_ROWS_MAX]; /* pivot point to string */
    size_t n;
    bool is_from_pivot; /* as written */
};

static bool parse_force(const char *text, double *force_n)
{
    char *end = NULL;
    const double number = strtod(text, &end);
    if (end == text || !(number >= 0.0)) {
        return false;
    }
    end += strspn(end, BLANKS);
    const bool is_pounds = strcmp(end, "lb") == 0 || strcmp(end, "lbf") == 0;
    *force_n = number * (is_pounds ? SH_UNITS_LBF_N : 1.0);
    return (is_pounds || strcmp(end, "N") == 0) && *force_n <= FORCE_MAX_N;
}

static enum sh_status
take_line(void *context, char *line, const char *where, struct sh_error *err)
{
    struct table *table = context;
    struct sh_force_draw_row row;
    if (strcmp(line, "pivot") == 0 && table->n == 0) {
        table->is_from_pivot = true;
        return SH_OK;
    }
    char *force = sh_table_line_cut(line);
    if (force == NULL ||
        !sh_calibration_setup_parse_length(sh_table_line_trim(line), &row.draw_m) ||
        !parse_force(sh_table_line_trim(force), &row.force_n)) {
        return sh_error_set(err, SH_ERR_FORMAT, where, TODO_LINE, "this line cannot be read");
    }
    if (table->n == SH_FORCE_DRAW_ROWS_MAX) {
        return sh_error_set(err, SH_ERR_FULL, where, "leave some out", "over %u rows",
                            SH_FORCE_DRAW_ROWS_MAX);
    }
    row.draw_m -= table->is_from_pivot ? 0.0 : SH_FORCE_DRAW_PIVOT_M;
    if (table->n > 0 && row.draw_m <= table->row[table->n - 1].draw_m) {
        return sh_error_set(err, SH_ERR_FORMAT, where, "order the rows by draw length",
                            "this draw length is not longer than the one before");
    }
    table->row[table->n++] = row;
    return SH_OK;
}

static enum sh_status solve(const struct sh_calibration_setup *setup,
                            const struct table *table,
                            double *draw_length_m,
                            struct sh_force_draw *draw,
                            struct sh_error *err)
{
    if (table->n < SH_FORCE_DRAW_ROWS_MIN) {
        return sh_error_set(err, SH_ERR_SHORT, setup->bow,
                            "give 6 rows at least; one an inch is usual",
                            "%zu rows are too few", table->n);
    }
    const bool is_given = setup->draw_length_m > 0.0;
    *draw_length_m = is_given ? setup->draw_length_m
                              : table->row[table->n - 1].draw_m + SH_FORCE_DRAW_PIVOT_M;
    const struct sh_force_draw_config config = {.at_m = *draw_length_m - SH_FORCE_DRAW_PIVOT_M,
                                                .draw_u_m = setup->draw_u_m,
                                                .force_ratio = setup->force_ratio};
    enum sh_status status = sh_force_draw_solve(table->row, table->n, &config, draw);
    if (status == SH_OK) {
        return SH_OK;
    }
    return status == SH_ERR_NOT_FOUND
               ? sh_error_set(err, status, setup->bow, "measure the bow up to this draw length",
                              "a draw length of %.1f mm lies outside the table",
                              *draw_length_m / 0.001)
               : sh_error_set(err, status, setup->bow, "check draw lengths and forces",
                              "no stiffness can be had: %s", sh_status_text(status));
}

static void put_figure(struct sh_text *text, const struct sh_quantity *quantity, double factor)
{
    char figure[SH_FIGURE_BYTES];
    sh_figure_format(quantity, factor, figure);
    sh_text_puts(text, figure);
}

static void format_sentences(const struct sh_force_draw *draw,
                             double draw_length_m,
                             const struct table *table,
                             struct sh_text *text)
{
    const double per_lb = 1.0 / SH_UNITS_LBF_N;
    sh_text_printf(text,
                   "At a draw length of %.2f in (%.4f m; pivot point to string + 1 3/4 in)"
                   "\nthe bow draws ",
                   draw_length_m / SH_UNITS_INCH_M, draw_length_m);
    put_figure(text, &draw->weight_n, 1.0);
    sh_text_puts(text, " N (");
    put_figure(text, &draw->weight_n, per_lb);
    sh_text_puts(text, " lb).\nIts stiffness there is ");
    put_figure(text, &draw->stiffness_n_per_m, 1.0);
    sh_text_puts(text, " N/m (");
    put_figure(text, &draw->stiffness_n_per_m, SH_UNITS_INCH_M * per_lb);
    sh_text_printf(text, " lb/in): 1 mm of draw is %.2f N.\n",
                   draw->stiffness_n_per_m.value * 0.001);
    sh_text_printf(text, "Drawn from %.2f in it stores ",
                   (table->row[0].draw_m + SH_FORCE_DRAW_PIVOT_M) / SH_UNITS_INCH_M);
    put_figure(text, &draw->energy_j, 1.0);
    sh_text_printf(text, " J.\n%s (fit through the last %zu rows, SD %.2g N).\n",
                   draw->is_bent ? "Near full draw the force does not rise straight"
                                 : "Near full draw the force rises straight",
                   draw->n_near, draw->residual_sd_n);
}

static json_t *make_rows(const struct table *table)
{
    json_t *list = json_array();
    for (size_t i = 0; i < table->n; i++) {
        json_t *row = json_pack("[f,f]", table->row[i].draw_m + SH_FORCE_DRAW_PIVOT_M,
                                table->row[i].force_n);
        if (json_array_append_new(list, row) != 0) {
            json_decref(list);
            return NULL;
        }
    }
    return list;
}

static void format_json(const struct sh_calibration_setup *setup,
                        const struct sh_force_draw *draw,
                        double draw_length_m,
                        const struct table *table,
                        struct sh_text *text)
{
    json_t *root = json_pack(
        "{s:s,s:i,s:s,s:o,s:f,s:f,s:f,s:f,s:f,s:f,s:f,s:f,s:b,s:o}", "format", "stringhand-bow",
        "version", 1, "program", "stringhand " SH_VERSION, "name",
        sh_shot_json_make_string(setup->name), "draw_length_m", draw_length_m, "draw_weight_n",
        draw->weight_n.value, "draw_weight_u_n", draw->weight_n.u, "stiffness_n_per_m",
        draw->stiffness_n_per_m.value, "stiffness_u_n_per_m", draw->stiffness_n_per_m.u,
        "energy_j", draw->energy_j.value, "energy_u_j", draw->energy_j.u, "residual_sd_n",
        draw->residual_sd_n, "is_bent", draw->is_bent ? 1 : 0, "rows", make_rows(table));
    char *bytes = root != NULL ? json_dumps(root, JSON_INDENT(1)) : NULL;
    if (bytes != NULL) {
        sh_text_puts(text, bytes);
        sh_text_puts(text, "\n");
    } else {
        text->status = SH_ERR_MEMORY;
    }
    free(bytes);
    json_decref(root);
}

static enum sh_status write_bow(const struct sh_calibration_setup *setup,
                                const struct sh_force_draw *draw,
                                double draw_length_m)
{
    struct sh_bow_file file = {.draw_length_m = draw_length_m, .energy_j = draw->energy_j};
    struct sh_text text;
    (void)snprintf(file.bow.name, sizeof file.bow.name, "%s", setup->name);
    (void)snprintf(file.measured, sizeof file.measured, "%s", setup->date);
    file.bow.draw_weight_n = draw->weight_n;
    file.bow.stiffness_n_per_m = draw->stiffness_n_per_m;
    sh_text_init(&text, 0);
    sh_bow_file_format(&file, &text);
    if (sh_say_file(&text, setup->out) != SH_EXIT_DONE) {
        return SH_ERR_IO; /* said */
    }
    (void)fprintf(stderr, "Written to %s: give it to capture as --bow-file\n", setup->out);
    return SH_OK;
}

enum sh_status sh_bow_calibration_run(const struct sh_calibration_setup *setup,
                                      struct sh_error *err)
{
    struct table table = {.n = 0};
    struct sh_force_draw draw = {.n_near = 0};
    struct sh_text text;
    double draw_length_m = 0.0;
    const struct sh_table_line_sink sink = {take_line, &table};
    enum sh_status status =
        sh_table_line_read(setup->bow, "give --bow a force-draw table", &sink, err);
    if (status == SH_OK) {
        status = solve(setup, &table, &draw_length_m, &draw, err);
    }
    if (status != SH_OK) {
        return status;
    }
    sh_text_init(&text, 0);
    if (setup->is_json) {
        format_json(setup, &draw, draw_length_m, &table, &text);
    } else {
        format_sentences(&draw, draw_length_m, &table, &text);
    }
    status = sh_say_text(&text) == SH_EXIT_DONE ? SH_OK : SH_ERR_IO;
    return status == SH_OK && setup->out != NULL ? write_bow(setup, &draw, draw_length_m)
                                                 : status;
}
