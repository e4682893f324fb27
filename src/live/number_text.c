/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "live/number_text.h"

#include <jansson.h>
#include <math.h>

#include "report/shot_json.h"

void sh_number_text_put(struct sh_text *text, double value, int digits)
{
    if (isfinite(value)) {
        sh_text_printf(text, "%.*g", digits, value);
    } else {
        sh_text_puts(text, "null");
    }
}

void sh_number_text_put_list(struct sh_text *text, const double *values, size_t n, int digits)
{
    sh_text_puts(text, "[");
    for (size_t i = 0; i < n; i++) {
        sh_text_puts(text, i > 0 ? "," : "");
        sh_number_text_put(text, values[i], digits);
    }
    sh_text_puts(text, "]");
}

void sh_number_text_put_quantity(struct sh_text *text,
                                 const struct sh_quantity *quantity,
                                 int digits)
{
    sh_number_text_put(text, sh_quantity_is_known(quantity) ? quantity->value : (double)NAN,
                       digits);
}

static int take_piece(const char *bytes, size_t n_bytes, void *context)
{
    struct sh_text *text = context;
    sh_text_write(text, bytes, n_bytes);
    return text->status == SH_OK ? 0 : -1;
}

void sh_number_text_put_string(struct sh_text *text, const char *string)
{
    json_t *made = sh_shot_json_make_string(string);
    bool is_put =
        made != NULL && json_dump_callback(made, take_piece, text, JSON_ENCODE_ANY) == 0;
    if (!is_put && text->status == SH_OK) {
        text->status = SH_ERR_MEMORY;
    }
    json_decref(made);
}

void sh_number_text_put_name(struct sh_text *text, const char *string)
{
    if (string[0] != '\0') {
        sh_number_text_put_string(text, string);
    } else {
        sh_text_puts(text, "null");
    }
}
