/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "live/limit_words.h"

#include "finding/limit_kind.h"
#include "live/number_text.h"

static void put_bound(struct sh_text *words,
                      const char *lead,
                      const struct sh_mark_number *bound,
                      const struct sh_limit_kind *kind)
{
    if (bound->is_given) {
        sh_text_printf(words, ", %s %g%s%s", lead, bound->value * kind->factor,
                       kind->unit[0] != '\0' ? " " : "", kind->unit);
    }
}

void sh_limit_words_put(const struct sh_limit_words *limit, struct sh_text *text)
{
    struct sh_text words;
    struct sh_limit_kind kind = {.title = limit->what, .unit = "", .factor = 1.0};
    (void)sh_limit_kind_find(limit->what, &kind);
    sh_text_init(&words, 0);
    sh_text_printf(&words, "%s%s%s", limit->finger, limit->finger[0] != '\0' ? " " : "",
                   kind.title);
    put_bound(&words, "at most", limit->most, &kind);
    put_bound(&words, "at least", limit->least, &kind);
    sh_text_printf(&words, " a %s", limit->per);
    if (limit->set_by[0] != '\0') {
        sh_text_printf(&words, ", set by %s", limit->set_by);
    }
    if (words.status == SH_OK) {
        sh_number_text_put_string(text, words.data);
    } else if (text->status == SH_OK) {
        text->status = words.status;
    }
    sh_text_close(&words);
}
