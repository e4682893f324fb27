/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Any bytes as readings of a calibration: refused with a line, or all within their bounds. */
#include <math.h>

#include "app/reading_table.h"
#include "fuzz/fuzz.h"
#include "fuzz/input_file.h"
#include "metrology/hung_mass.h"

static void check_row(const struct sh_reading_table_row *row)
{
    SH_FUZZ_CHECK(row->mass_kg >= 0.0 && row->mass_kg <= SH_HUNG_MASS_MAX_KG);
    SH_FUZZ_CHECK(isfinite(row->counts));
    SH_FUZZ_CHECK(row->noise_counts >= 0.0 && isfinite(row->noise_counts));
    SH_FUZZ_CHECK(row->n_samples >= 1.0 && isfinite(row->n_samples));
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t n_bytes)
{
    struct sh_error err = {.status = SH_OK};
    struct sh_reading_table table;
    char path[INPUT_FILE_PATH_BYTES];
    FILE *file = input_file_open(bytes, n_bytes, path);
    const enum sh_status status = sh_reading_table_read(path, &table, &err);
    SH_FUZZ_CHECK(table.n <= SH_CALIBRATION_READINGS_MAX);
    SH_FUZZ_CHECK(table.n_steady <= SH_LOAD_DRIFT_POINTS_MAX);
    for (size_t i = 0; i < table.n; i++) {
        check_row(&table.row[i]);
    }
    if (status == SH_OK) {
        SH_FUZZ_CHECK(table.n > 0);
    } else {
        SH_FUZZ_CHECK(err.status == status && err.what[0] != '\0');
    }
    (void)fclose(file);
    return 0;
}
