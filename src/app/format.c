/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/format.h"

#include <string.h>

#include "report/analysis_csv.h"
#include "report/analysis_json.h"
#include "report/analysis_table.h"

static const struct sh_format formats[] = {
    {"table", sh_analysis_table_write},
    {"json", sh_analysis_json_write},
    {"csv", sh_analysis_csv_write},
};

const struct sh_format *sh_format_find(const char *name)
{
    for (size_t i = 0; i < sizeof formats / sizeof formats[0]; i++) {
        if (strcmp(formats[i].name, name) == 0) {
            return &formats[i];
        }
    }
    return NULL;
}
