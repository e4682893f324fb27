/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/shelved.h"

#include "app/recorded.h"
#include "support/cmocka_all.h"

static void open_shelf(struct shelved *shelved)
{
    const struct sh_shelf_config config = {shelved->scratch.folder, sh_thresholds_default()};
    assert_int_equal(sh_shelf_open(&config, &shelved->shelf, NULL), SH_OK);
}

void shelved_open(struct shelved *shelved)
{
    scratch_open(&shelved->scratch);
    open_shelf(shelved);
}

void shelved_reopen(struct shelved *shelved)
{
    sh_shelf_close(&shelved->shelf);
    open_shelf(shelved);
}

void shelved_close(struct shelved *shelved)
{
    sh_shelf_close(&shelved->shelf);
    scratch_close(&shelved->scratch);
}

unsigned shelved_add(struct shelved *shelved,
                     const struct sh_simulation_config *config,
                     const char *name,
                     char folder[SCRATCH_PATH_BYTES])
{
    unsigned id = 0;
    scratch_path(&shelved->scratch, name, folder);
    recorded_write(config, folder);
    assert_int_equal(sh_shelf_add(shelved->shelf, folder, &id, NULL), SH_OK);
    return id;
}

json_t *
shelved_ask(const struct shelved *shelved, const char *path, const char *query, int status)
{
    struct sh_text text;
    sh_text_init(&text, 0);
    assert_int_equal(sh_shelf_answer(shelved->shelf, path, query, &text), status);
    assert_int_equal(text.status, SH_OK);
    json_t *answer = json_loads(text.data, JSON_REJECT_DUPLICATES, NULL);
    assert_non_null(answer);
    sh_text_close(&text);
    return answer;
}
