/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Any bytes as what a person types while a recording runs, a line at a time: refused with its
 * line, or an entry within all bounds that a recording can hold.
 */
#include <math.h>
#include <string.h>

#include "app/entry.h"
#include "fuzz/fuzz.h"
#include "recording/session_json.h"
#include "report/utf8.h"

/* A recording of one stream takes the mark and can be written. */
static void check_kept(const struct sh_mark *mark)
{
    struct sh_session *session = calloc(1, sizeof *session);
    struct sh_error err = {.status = SH_OK};
    struct sh_text text;
    if (session == NULL) {
        abort();
    }
    sh_text_init(&text, 0);
    SH_FUZZ_CHECK(sh_session_add_mark(session, mark) == SH_OK);
    SH_FUZZ_CHECK(sh_session_json_format(session, NULL, &text, &err) == SH_OK);
    sh_text_close(&text);
    sh_session_close(session);
    free(session);
}

static void check_mark(const struct sh_mark *mark)
{
    SH_FUZZ_CHECK(mark->n_scores <= SH_MARK_SCORES_MAX);
    for (size_t i = 0; i < mark->n_scores; i++) {
        SH_FUZZ_CHECK(mark->scores[i] >= 0.0 && mark->scores[i] <= 10.0);
    }
    SH_FUZZ_CHECK(mark->kind != SH_MARK_CLOCK ||
                  (mark->seconds.value > 0.0 && isfinite(mark->seconds.value)));
    SH_FUZZ_CHECK(mark->kind != SH_MARK_NOTE || mark->text[0] != '\0');
    check_kept(mark);
}

static void check_line(const char *line)
{
    struct sh_entry entry;
    struct sh_error err = {.status = SH_OK};
    struct sh_text text;
    enum sh_status status = sh_entry_parse(line, &entry, &err);
    if (status != SH_OK) {
        SH_FUZZ_CHECK(status == SH_ERR_FORMAT && entry.kind == SH_ENTRY_NOTHING);
        SH_FUZZ_CHECK(err.what[0] != '\0' && err.todo[0] != '\0');
        return;
    }
    sh_text_init(&text, 0);
    sh_entry_format(&entry, &text);
    SH_FUZZ_CHECK(text.status == SH_OK);
    SH_FUZZ_CHECK(text.n_bytes == 0 || strchr(text.data, '\n') == text.data + text.n_bytes - 1);
    SH_FUZZ_CHECK(text.n_bytes == 0 || strchr(text.data, '\x1b') == NULL);
    sh_text_close(&text);
    if (entry.kind == SH_ENTRY_MARK) {
        check_mark(&entry.mark);
    } else if (entry.kind == SH_ENTRY_ARCHER) {
        SH_FUZZ_CHECK(entry.athlete[0] != '\0' && sh_utf8_is_valid(entry.athlete));
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t n_bytes)
{
    char *text = malloc(n_bytes + 1);
    if (text == NULL) {
        abort();
    }
    if (n_bytes > 0) {
        memcpy(text, bytes, n_bytes);
    }
    text[n_bytes] = '\0';
    for (char *line = text; line != NULL;) {
        char *end = strchr(line, '\n');
        if (end != NULL) {
            *end = '\0';
        }
        check_line(line);
        line = end != NULL ? end + 1 : NULL;
    }
    free(text);
    return 0;
}
