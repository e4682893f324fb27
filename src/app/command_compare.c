/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <errno.h>
#include <stdlib.h>
#include <string.h>

#include "app/commands.h"
#include "app/comparison_source.h"
#include "app/say.h"
#include "report/comparison_csv.h"
#include "report/comparison_json.h"
#include "report/comparison_page.h"
#include "report/comparison_table.h"

#define WORDS_MAX 100u

static const struct sh_command_option options[] = {
    {"by", "TAG", "split one athlete's recordings by a tag: tab, or tab=thin,thick", 0},
    {"format", "FORMAT", "table (default), json or csv", 0},
    {"out", "FILE", "write it as a page to read or print, into this file", 'o'},
    {"seed", "N", "start of the drawn arrangements; 1 if not given", 0},
    {"home", "FOLDER", "where an athlete's recordings lie", 0},
};

static const struct format {
    const char *name;
    enum sh_status (*write)(const struct sh_comparison_sheet *sheet, struct sh_text *text);
} formats[] = {
    {"table", sh_comparison_table_write},
    {"json", sh_comparison_json_write},
    {"csv", sh_comparison_csv_write},
};

/* What was asked for. */
struct wish {
    const struct format *format;
    const char *by;  /* NULL: two folders */
    const char *out; /* the page's file; NULL: no page */
    uint64_t seed;
};

static enum sh_status read_format(const char *name, struct wish *wish, struct sh_error *err)
{
    for (size_t i = 0; i < sizeof formats / sizeof formats[0]; i++) {
        if (strcmp(formats[i].name, name) == 0) {
            wish->format = &formats[i];
            return SH_OK;
        }
    }
    return sh_error_set(err, SH_ERR_ARGUMENT, "compare --format", "take table, json or csv",
                        "'%s' is no format", name);
}

static enum sh_status read_seed(const char *word, struct wish *wish, struct sh_error *err)
{
    char *rest = NULL;
    errno = 0;
    wish->seed = strtoull(word, &rest, 10);
    if (word[0] < '0' || word[0] > '9' || errno != 0 || *rest != '\0') {
        return sh_error_set(err, SH_ERR_ARGUMENT, "compare --seed", "give a whole number",
                            "'%s' is not understood", word);
    }
    return SH_OK;
}

static enum sh_status read_wish(const struct sh_command *command,
                                const struct sh_command_line *line,
                                struct wish *wish,
                                struct sh_error *err)
{
    *wish = (struct wish){.format = &formats[0],
                          .by = sh_command_get(command, line, "by", NULL),
                          .out = sh_command_get(command, line, "out", NULL)};
    enum sh_status status =
        read_format(sh_command_get(command, line, "format", "table"), wish, err);
    if (status == SH_OK) {
        status = read_seed(sh_command_get(command, line, "seed", "1"), wish, err);
    }
    if (status == SH_OK && wish->out != NULL && wish->format != &formats[0]) {
        status = sh_error_set(err, SH_ERR_ARGUMENT, "compare --out", "leave --format out",
                              "a page has a format of its own");
    }
    if (status == SH_OK && wish->by == NULL && line->n_operands != 2) {
        status = sh_error_set(err, SH_ERR_ARGUMENT, "compare",
                              "name two folders, or one athlete and a tag: --by tab",
                              "there are not two sides");
    }
    return status;
}

static enum sh_status write_all(const struct sh_comparison_source *source,
                                const struct wish *wish,
                                struct sh_text *text,
                                struct sh_error *err)
{
    struct sh_comparison comparison;
    enum sh_status status =
        sh_comparison_get(&source->set, source->has_other_calibration, wish->seed, &comparison);
    if (status == SH_OK) {
        const struct sh_comparison_sheet sheet = {.athlete = source->athlete,
                                                  .side = {source->side[0], source->side[1]},
                                                  .key = source->key[0] != '\0' ? source->key
                                                                                : NULL,
                                                  .set = &source->set,
                                                  .comparison = &comparison,
                                                  .seed = wish->seed};
        status =
            (wish->out != NULL ? sh_comparison_page_write : wish->format->write)(&sheet, text);
    }
    return status == SH_OK
               ? SH_OK
               : sh_error_set(err, status, "compare", NULL, "the figures cannot be worked out");
}

static enum sh_exit run(const struct sh_command *command, const struct sh_command_line *line)
{
    char home[SH_HOME_PATH_BYTES];
    struct sh_error err = {0};
    struct sh_comparison_source source = {.n_untagged = 0};
    struct wish wish;
    struct sh_text text;
    if (read_wish(command, line, &wish, &err) != SH_OK) {
        return sh_say_error(&err, SH_EXIT_USAGE);
    }
    sh_text_init(&text, 0);
    enum sh_status status =
        sh_home_find(sh_command_get(command, line, "home", NULL), home, &err);
    if (status == SH_OK) {
        const struct sh_comparison_source_config config = {
            .home = home, .words = line->operands, .n_words = line->n_operands, .by = wish.by};
        status = sh_comparison_source_read(&config, &source, &err);
    }
    if (status == SH_OK) {
        status = write_all(&source, &wish, &text, &err);
    }
    sh_comparison_source_close(&source);
    if (status != SH_OK) {
        sh_text_close(&text);
        return sh_say_error(&err, SH_EXIT_INPUT);
    }
    if (wish.out == NULL && wish.format->write == sh_comparison_csv_write) {
        sh_say_cautions();
    }
    return wish.out != NULL ? sh_say_file(&text, wish.out) : sh_say_text(&text);
}

const struct sh_command sh_command_compare = {
    .name = "compare",
    .operands = "FIRST SECOND | --by TAG ATHLETE|RECORDING...",
    .summary = "Tell whether anything changed between two ways of shooting, two tabs say.",
    .details =
        "FIRST and SECOND are folders with recordings in or below them. Sessions are\n"
        "compared, or ends of both sides that took turns within a session; never single\n"
        "arrows of two days. With one session a side: whether those two differ. One\n"
        "athlete at a time: people are not compared.",
    .n_operands_min = 1,
    .n_operands_max = WORDS_MAX,
    .options = options,
    .n_options = sizeof options / sizeof options[0],
    .run = run,
};
