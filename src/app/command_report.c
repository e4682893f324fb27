/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <stdlib.h>

#include "app/commands.h"
#include "app/say.h"
#include "app/story.h"
#include "report/page.h"

#define RECORDINGS_MAX 100u

static const struct sh_command_option options[] = {
    {"out", "FILE", "the report's file; without it the page goes to standard output", 'o'},
    {"thresholds", "FILE", "thresholds of the findings, see docs/findings.md", 0},
};

/* All stories of the page, in the order given. */
static enum sh_status read_stories(const struct sh_command_line *line,
                                   const struct sh_thresholds *thresholds,
                                   struct sh_story *stories,
                                   struct sh_error *err)
{
    const struct sh_passes_config config = {.thresholds = thresholds};
    enum sh_status status = SH_OK;
    for (size_t i = 0; i < line->n_operands && status == SH_OK; i++) {
        status = sh_story_read(line->operands[i], &config, &stories[i], err);
    }
    return status;
}

static void write_page(const struct sh_story *stories,
                       size_t n,
                       const struct sh_thresholds *thresholds,
                       struct sh_text *text)
{
    struct sh_page pages[RECORDINGS_MAX];
    for (size_t i = 0; i < n; i++) {
        pages[i] = (struct sh_page){.analysis = &stories[i].analysis,
                                    .thresholds = thresholds,
                                    .traces = stories[i].traces,
                                    .streams = stories[i].streams,
                                    .n_streams = stories[i].n_streams};
    }
    (void)sh_page_write(pages, n, text);
}

static enum sh_exit run(const struct sh_command *command, const struct sh_command_line *line)
{
    struct sh_thresholds thresholds = sh_thresholds_default();
    struct sh_error err = {0};
    struct sh_text text;
    const char *path = sh_command_get(command, line, "thresholds", NULL);
    const char *out = sh_command_get(command, line, "out", NULL);
    if (path != NULL && sh_thresholds_read(path, &thresholds, &err) != SH_OK) {
        return sh_say_error(&err, SH_EXIT_INPUT);
    }
    struct sh_story *stories = calloc(line->n_operands, sizeof *stories);
    if (stories == NULL) {
        (void)sh_error_set(&err, SH_ERR_MEMORY, NULL, NULL, "out of memory");
        return sh_say_error(&err, SH_EXIT_INPUT);
    }
    enum sh_status status = read_stories(line, &thresholds, stories, &err);
    sh_text_init(&text, 0);
    if (status == SH_OK) {
        write_page(stories, line->n_operands, &thresholds, &text);
    }
    for (size_t i = 0; i < line->n_operands; i++) {
        sh_story_close(&stories[i]);
    }
    free(stories);
    if (status != SH_OK) {
        sh_text_close(&text);
        return sh_say_error(&err, SH_EXIT_INPUT);
    }
    return out != NULL ? sh_say_file(&text, out) : sh_say_text(&text);
}

const struct sh_command sh_command_report = {
    .name = "report",
    .operands = "RECORDING...",
    .summary = "Write what was found as one page for people: sentences, drawings, figures.",
    .n_operands_min = 1,
    .n_operands_max = RECORDINGS_MAX,
    .options = options,
    .n_options = sizeof options / sizeof options[0],
    .run = run,
};
