/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/analysis_csv.h"

#include <math.h>
#include <string.h>

#include "report/csv_text.h"
#include "report/shot_field.h"

/* How many columns the lists of changing length take. */
struct widths {
    size_t n_quality;
    size_t n_changed;
    size_t n_findings;
};

static size_t count_quality(const struct sh_shot_record *record)
{
    size_t n = 0;
    for (int i = 0; i < SH_CODE_QUALITY_COUNT; i++) {
        n += record->quality[i] ? 1 : 0;
    }
    return n;
}

static size_t count_changed(const struct sh_shot_record *record)
{
    char key[SH_CATALOG_KEY_BYTES];
    size_t n = 0;
    while (sh_shot_field_get_changed(record, n, key)) {
        n++;
    }
    return n;
}

static size_t get_larger(size_t a, size_t b)
{
    return a > b ? a : b;
}

static struct widths find_widths(const struct sh_analysis *analysis)
{
    struct widths widths = {0};
    for (size_t i = 0; i < analysis->n_shots; i++) {
        const struct sh_shot_record *record = &analysis->shots[i];
        widths.n_quality = get_larger(widths.n_quality, count_quality(record));
        widths.n_changed = get_larger(widths.n_changed, count_changed(record));
        widths.n_findings = get_larger(widths.n_findings, record->n_findings);
    }
    return widths;
}

/* One more cell of a row. */
static void put_cell(struct sh_text *text, const char *string)
{
    sh_text_puts(text, ",");
    sh_csv_text_put(text, string);
}

static void put_number(struct sh_text *text, bool is_known, double number)
{
    if (is_known && isfinite(number)) {
        sh_text_printf(text, ",%.17g", number);
    } else {
        sh_text_puts(text, ",");
    }
}

static enum sh_status put_name(void *context, const struct sh_shot_field *field)
{
    struct sh_text *text = context;
    if (field->n_parts == 1) {
        sh_text_printf(text, ",%s", field->key);
    }
    for (size_t part = 0; field->n_parts > 1 && part < field->n_parts; part++) {
        sh_text_printf(text, ",%s_%zu", field->key, part + 1);
    }
    return text->status;
}

static enum sh_status put_field(void *context, const struct sh_shot_field *field)
{
    struct sh_text *text = context;
    switch (field->type) {
    case SH_SHOT_FIELD_NUMBER:
        for (size_t part = 0; part < field->n_parts; part++) {
            put_number(text, field->is_known[part], field->number[part]);
        }
        break;
    case SH_SHOT_FIELD_TEXT:
        put_cell(text, field->is_known[0] ? field->text : "");
        break;
    case SH_SHOT_FIELD_ANSWER:
        put_cell(text, !field->is_known[0] ? "" : field->answer ? "true" : "false");
        break;
    }
    return text->status;
}

static void put_head(struct sh_text *text, const struct widths *widths)
{
    static const struct sh_shot_record nothing;
    sh_text_puts(text, "recording,athlete,n,kind,score");
    (void)sh_shot_field_each(&nothing, &(struct sh_shot_field_sink){put_name, text});
    for (size_t i = 1; i <= widths->n_quality; i++) {
        sh_text_printf(text, ",quality_%zu", i);
    }
    for (size_t i = 1; i <= widths->n_changed; i++) {
        sh_text_printf(text, ",changed_%zu", i);
    }
    for (size_t i = 1; i <= widths->n_findings; i++) {
        static const char *const keys[] = {"code",      "text",  "value",  "value_u",
                                           "threshold", "basis", "unusual"};
        for (size_t k = 0; k < sizeof keys / sizeof keys[0]; k++) {
            sh_text_printf(text, ",findings_%zu_%s", i, keys[k]);
        }
    }
    sh_text_puts(text, "\r\n");
}

static void put_finding(struct sh_text *text, const struct sh_finding *finding)
{
    bool has_value = sh_quantity_is_known(&finding->value);
    put_cell(text, sh_code_name(finding->code));
    put_cell(text, finding->text);
    put_number(text, has_value, finding->value.value);
    put_number(text, has_value, finding->value.u);
    put_number(text, true, finding->threshold);
    put_cell(text, sh_code_basis_name(finding->basis));
    put_number(text, finding->has_unusual, finding->unusual);
}

static void put_lists(struct sh_text *text,
                      const struct sh_shot_record *record,
                      const struct widths *widths)
{
    size_t n_put = 0;
    for (int i = 0; i < SH_CODE_QUALITY_COUNT; i++) {
        if (record->quality[i]) {
            put_cell(text, sh_code_quality_name((enum sh_code_quality)i));
            n_put++;
        }
    }
    for (; n_put < widths->n_quality; n_put++) {
        put_cell(text, "");
    }
    for (size_t i = 0; i < widths->n_changed; i++) {
        char key[SH_CATALOG_KEY_BYTES] = "";
        (void)sh_shot_field_get_changed(record, i, key);
        put_cell(text, key);
    }
    for (size_t i = 0; i < widths->n_findings; i++) {
        if (i < record->n_findings) {
            put_finding(text, &record->findings[i]);
        } else {
            sh_text_puts(text, ",,,,,,,");
        }
    }
}

enum sh_status sh_analysis_csv_write(const struct sh_analysis *analysis, struct sh_text *text)
{
    struct widths widths = find_widths(analysis);
    put_head(text, &widths);
    for (size_t i = 0; i < analysis->n_shots && text->status == SH_OK; i++) {
        const struct sh_shot_record *record = &analysis->shots[i];
        sh_csv_text_put(text, analysis->recording);
        put_cell(text, analysis->athlete);
        sh_text_printf(text, ",%u,%s", record->shot.n, sh_shot_kind_name(record->shot.kind));
        put_number(text, record->has_score, record->score);
        (void)sh_shot_field_each(record, &(struct sh_shot_field_sink){put_field, text});
        put_lists(text, record, &widths);
        sh_text_puts(text, "\r\n");
    }
    return text->status;
}
