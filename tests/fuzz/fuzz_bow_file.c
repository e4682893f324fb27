/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Any bytes as a bow's file: refused with a line, or within bounds. */

#include "fuzz/fuzz.h"
#include "fuzz/input_file.h"
#include "recording/bow_file.h"

static void check_quantity(const struct sh_quantity *quantity, double most)
{
    if (sh_quantity_is_known(quantity)) {
        SH_FUZZ_CHECK(quantity->value > 0.0 && quantity->value <= most);
        SH_FUZZ_CHECK(quantity->u >= 0.0 && quantity->u <= most);
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t n_bytes)
{
    struct sh_error err = {.status = SH_OK};
    struct sh_bow_file bow;
    char path[INPUT_FILE_PATH_BYTES];
    FILE *file = input_file_open(bytes, n_bytes, path);
    const enum sh_status status = sh_bow_file_read(path, &bow, &err);
    if (status == SH_OK) {
        check_quantity(&bow.bow.draw_weight_n, 400.0);
        check_quantity(&bow.bow.stiffness_n_per_m, 2000.0);
        check_quantity(&bow.energy_j, 500.0);
        SH_FUZZ_CHECK(bow.draw_length_m >= 0.0 && bow.draw_length_m <= 2.0);
    } else {
        SH_FUZZ_CHECK(err.status == status && err.what[0] != '\0');
    }
    (void)fclose(file);
    return 0;
}
