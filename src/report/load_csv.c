/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/load_csv.h"

#include "base/day.h"
#include "report/load_field.h"

static enum sh_status put_head(void *context, const struct sh_load_field *field)
{
    struct sh_text *text = context;
    if (field->n_parts == 1) {
        sh_text_printf(text, ",%s", field->key);
        return text->status;
    }
    for (size_t i = 0; i < field->n_parts; i++) {
        sh_text_printf(text, ",%s_%zu", field->key, i + 1);
    }
    return text->status;
}

static enum sh_status put_cells(void *context, const struct sh_load_field *field)
{
    struct sh_text *text = context;
    for (size_t i = 0; i < field->n_parts; i++) {
        if (field->is_known[i]) {
            sh_text_printf(text, ",%.17g", field->number[i]);
        } else {
            sh_text_puts(text, ",");
        }
    }
    return text->status;
}

static enum sh_status write_fields(const struct sh_load_sheet *sheet,
                                   const struct sh_load_history_row *row,
                                   const struct sh_load_field_sink *sink)
{
    enum sh_status status = sh_load_field_each_amount(row->load, sheet->level_n, sink);
    return status == SH_OK ? sh_load_field_each_average(row, sink) : status;
}

enum sh_status sh_load_csv_write(const struct sh_load_sheet *sheet, struct sh_text *text)
{
    static const struct sh_day_load nothing = {0};
    const struct sh_load_history_row empty = {.load = &nothing};
    const struct sh_load_field_sink head = {put_head, text};
    const struct sh_load_field_sink cells = {put_cells, text};
    sh_text_puts(text, "date,kind");
    enum sh_status status = write_fields(sheet, &empty, &head);
    sh_text_puts(text, "\r\n");
    for (int day = sheet->first_day; day <= sheet->last_day && status == SH_OK; day++) {
        const struct sh_load_history_row *row = sh_load_sheet_find(sheet, day);
        char date[SH_DAY_BYTES];
        if (row == NULL) {
            continue;
        }
        sh_day_format(day, date);
        sh_text_printf(text, "%s,%s", date,
                       sh_day_load_kind_name(sh_day_load_get_kind(row->load)));
        status = write_fields(sheet, row, &cells);
        sh_text_puts(text, "\r\n");
    }
    return text->status;
}
