/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "support/open_data.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "support/cmocka_all.h"

FILE *sh_open_data_file(const char *name)
{
    const char *folder = getenv("STRINGHAND_OPEN_DATA");
    if (folder == NULL) {
        print_message("%s: STRINGHAND_OPEN_DATA names no folder\n", name);
        skip();
    }
    char path[512];
    (void)snprintf(path, sizeof(path), "%s/%s", folder, name);
    FILE *stream = fopen(path, "r");
    if (stream == NULL) {
        fail_msg("%s is missing", path);
    }
    return stream;
}

size_t sh_open_data_read_row(FILE *stream, double *row, size_t n)
{
    char *line = NULL;
    size_t n_bytes = 0;
    size_t n_read = 0;
    if (getline(&line, &n_bytes, stream) < 0) {
        free(line);
        return 0;
    }
    for (char *place = line; n_read < n && place != NULL;) {
        char *end = place;
        const double value = strtod(place, &end);
        row[n_read++] = end != place ? value : (double)NAN;
        place = strchr(end, ',');
        place = place != NULL ? place + 1 : NULL;
    }
    free(line);
    return n_read;
}
