/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "history/index_schema.h"

/* Each column's name and type; sink-like: one place that knows their order. */
struct column_writer {
    struct sh_text *sql;
    const char *type; /* " REAL", or "" where names alone are wanted */
    const char *between;
};

static void write_event_columns(const struct column_writer *writer)
{
    for (int event = 0; event < SH_EVENT_COUNT; event++) {
        const char *stem = sh_shot_event_stem((enum sh_event)event);
        sh_text_printf(writer->sql, "%s%s_s%s%s%s_u_s%s", writer->between, stem, writer->type,
                       writer->between, stem, writer->type);
    }
}

static void
write_part_columns(const struct column_writer *writer, enum sh_measure measure, size_t part)
{
    for (int suffix = 0; suffix < SH_CATALOG_SUFFIX_COUNT; suffix++) {
        sh_text_puts(writer->sql, writer->between);
        sh_index_schema_format_column(measure, part, (enum sh_catalog_suffix)suffix,
                                      writer->sql);
        sh_text_puts(writer->sql, writer->type);
    }
}

static void write_measure_columns(const struct column_writer *writer)
{
    for (int i = 0; i < SH_MEASURE_COUNT; i++) {
        const enum sh_measure measure = (enum sh_measure)i;
        for (size_t part = 0; part < sh_catalog_get_parts(measure); part++) {
            write_part_columns(writer, measure, part);
        }
    }
}

void sh_index_schema_format_column(enum sh_measure measure,
                                   size_t part,
                                   enum sh_catalog_suffix suffix,
                                   struct sh_text *sql)
{
    char key[SH_CATALOG_KEY_BYTES];
    sh_catalog_key(measure, suffix, key);
    sh_text_puts(sql, key);
    if (sh_catalog_get_parts(measure) > 1) {
        sh_text_printf(sql, "_%zu", part + 1);
    }
}

void sh_index_schema_format(struct sh_text *sql)
{
    const struct column_writer writer = {sql, " REAL", ",\n  "};
    sh_text_puts(sql, "CREATE TABLE recording (\n"
                      "  content INTEGER PRIMARY KEY NOT NULL,\n"
                      "  folder TEXT NOT NULL UNIQUE,\n"
                      "  stamp_ns INTEGER NOT NULL,\n"
                      "  program TEXT NOT NULL,\n"
                      "  started TEXT NOT NULL,\n"
                      "  utc_offset_min INTEGER NOT NULL,\n"
                      "  session TEXT NOT NULL,\n"
                      "  athlete TEXT NOT NULL,\n"
                      "  bow TEXT NOT NULL,\n"
                      "  channels TEXT NOT NULL,\n"
                      "  duration_s REAL NOT NULL,\n"
                      "  n_shots INTEGER NOT NULL\n"
                      ");\n"
                      "CREATE INDEX recording_of ON recording (athlete, started);\n"
                      "CREATE TABLE tag (\n"
                      "  content INTEGER NOT NULL REFERENCES recording ON DELETE CASCADE,\n"
                      "  name TEXT NOT NULL,\n"
                      "  value TEXT NOT NULL,\n"
                      "  UNIQUE (content, name)\n"
                      ");\n"
                      "CREATE TABLE shot (\n"
                      "  content INTEGER NOT NULL REFERENCES recording ON DELETE CASCADE,\n"
                      "  n INTEGER NOT NULL,\n"
                      "  kind TEXT NOT NULL,\n"
                      "  end_number INTEGER NOT NULL,\n"
                      "  arrow_number INTEGER NOT NULL,\n"
                      "  clocked INTEGER NOT NULL,\n"
                      "  score REAL,\n"
                      "  quality TEXT NOT NULL");
    write_event_columns(&writer);
    write_measure_columns(&writer);
    sh_text_puts(sql, ",\n  UNIQUE (content, n)\n);\n"
                      "CREATE TABLE finding (\n"
                      "  content INTEGER NOT NULL REFERENCES recording ON DELETE CASCADE,\n"
                      "  n INTEGER NOT NULL,\n"
                      "  place INTEGER NOT NULL,\n"
                      "  code TEXT NOT NULL,\n"
                      "  value REAL,\n"
                      "  value_u REAL,\n"
                      "  threshold REAL,\n"
                      "  UNIQUE (content, n, place)\n"
                      ");\n");
}

void sh_index_schema_format_insert(struct sh_text *sql)
{
    const struct column_writer writer = {sql, "", ", "};
    sh_text_puts(sql, "INSERT INTO shot (content, n, kind, end_number, arrow_number, "
                      "clocked, score, "
                      "quality");
    write_event_columns(&writer);
    write_measure_columns(&writer);
    sh_text_puts(sql, ") VALUES (?");
    const size_t n = SH_INDEX_SCHEMA_HEAD_COLUMNS + 2 * SH_EVENT_COUNT +
                     (size_t)SH_MEASURE_PLACES * SH_CATALOG_SUFFIX_COUNT;
    for (size_t i = 1; i < n; i++) {
        sh_text_puts(sql, ", ?");
    }
    sh_text_puts(sql, ")");
}
