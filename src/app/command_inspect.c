/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <unistd.h>

#include "app/commands.h"
#include "app/correction_file.h"
#include "app/passes.h"
#include "app/say.h"
#include "report/analysis_json.h"
#include "report/terminal_ascii.h"
#include "report/terminal_shot.h"

static const struct sh_command_option options[] = {
    {"format", "FORMAT", "table (default) or json", 0},
    {"plain", NULL, "nothing but ASCII", 0},
    {"correct", "EVENT=S", "overrule an event: seconds as shown, or none; may be repeated", 0},
    {"within", "SECONDS", "how far off a correction may be either way (default 0.01)", 0},
    {"undo", NULL, "take the last correction of this draw back", 0},
    {"thresholds", "FILE", "thresholds of the findings, see docs/findings.md", 0},
};

#define CORRECT 2 /* index of --correct */

#define COLUMNS_DEFAULT 80u
#define COLUMNS_MAX     400u
#define TIME_MAX_S      1e7
#define TODO_CORRECT    "write --correct clicker=49.812 or --correct clicker=none"

/* What was asked for. */
struct wish {
    const char *folder;
    unsigned n;
    struct sh_thresholds thresholds;
    bool is_json;
    bool is_plain;
    bool is_undone;
    struct sh_mark marks[SH_COMMAND_VALUES_MAX]; /* corrections to add */
    size_t n_marks;
};

/* One analysis with what is to be seen of the draw. */
struct sight {
    unsigned n;
    struct sh_terminal_shot *curves; /* owned */
    struct sh_analysis analysis;
    struct sh_corrections corrections;
};

static enum sh_status
refuse(struct sh_error *err, const char *where, const char *todo, const char *word)
{
    return sh_error_set(err, SH_ERR_ARGUMENT, where, todo, "'%s' is not understood", word);
}

/* A number from 0 on that is all of a word. */
static bool parse_number(const char *word, double most, double *out)
{
    char *end = NULL;
    *out = strtod(word, &end);
    return end != word && *end == '\0' && *out >= 0.0 && *out <= most;
}

static enum sh_status parse_draw(const char *word, unsigned *n, struct sh_error *err)
{
    char *end = NULL;
    errno = 0;
    unsigned long value = strtoul(word, &end, 10);
    bool is_number = word[0] >= '0' && word[0] <= '9' && *end == '\0';
    if (!is_number || errno != 0 || value < 1 || value > SH_ANALYSIS_SHOTS_MAX) {
        return refuse(err, "inspect N", "give the draw's number, from 1 on", word);
    }
    *n = (unsigned)value;
    return SH_OK;
}

static enum sh_status
parse_correction(const char *word, struct wish *wish, struct sh_error *err)
{
    char name[SH_MARK_NAME_BYTES];
    const char *value = strchr(word, '=');
    size_t n_bytes = value != NULL ? (size_t)(value - word) : 0;
    if (value == NULL || n_bytes >= sizeof name) {
        return refuse(err, "inspect --correct", TODO_CORRECT, word);
    }
    memcpy(name, word, n_bytes);
    name[n_bytes] = '\0';
    struct sh_mark *mark = &wish->marks[wish->n_marks++];
    *mark = (struct sh_mark){.kind = SH_MARK_CORRECTION, .shot = {true, wish->n}};
    enum sh_event event = sh_correction_find_event(name);
    if (event == SH_EVENT_COUNT) {
        return sh_error_set(err, SH_ERR_ARGUMENT, "inspect --correct",
                            "draw_start, full_draw, clicker, release, let_down or end",
                            "'%s' is no event", name);
    }
    (void)snprintf(mark->event, sizeof mark->event, "%s_s", sh_shot_event_stem(event));
    mark->value_s.is_given = strcmp(value + 1, "none") != 0;
    if (mark->value_s.is_given && !parse_number(value + 1, TIME_MAX_S, &mark->value_s.value)) {
        return refuse(err, "inspect --correct", TODO_CORRECT, word);
    }
    return SH_OK;
}

/* All corrections, and how sure they are: a reading within a half width (JCGM 100, 4.3.7). */
static enum sh_status parse_corrections(const struct sh_command *command,
                                        const struct sh_command_line *line,
                                        struct wish *wish,
                                        struct sh_error *err)
{
    const char *within = sh_command_get(command, line, "within", NULL);
    double half_s = 0.0;
    enum sh_status status = SH_OK;
    for (size_t i = 0; i < line->n_values && status == SH_OK; i++) {
        if (line->values[i].option == CORRECT) {
            status = parse_correction(line->values[i].text, wish, err);
        }
    }
    if (status != SH_OK || within == NULL) {
        return status;
    }
    if (wish->n_marks == 0 || !parse_number(within, 1.0, &half_s)) {
        return refuse(err, "inspect --within", "give seconds up to 1, beside --correct",
                      within);
    }
    for (size_t i = 0; i < wish->n_marks; i++) {
        wish->marks[i].value_u_s.is_given = wish->marks[i].value_s.is_given;
        wish->marks[i].value_u_s.value = half_s / sqrt(3.0);
    }
    return SH_OK;
}

static enum sh_status parse_wish(const struct sh_command *command,
                                 const struct sh_command_line *line,
                                 struct wish *wish,
                                 struct sh_error *err)
{
    const char *format = sh_command_get(command, line, "format", "table");
    wish->folder = line->operands[0];
    wish->thresholds = sh_thresholds_default();
    wish->is_json = strcmp(format, "json") == 0;
    wish->is_plain = sh_command_get(command, line, "plain", NULL) != NULL;
    wish->is_undone = sh_command_get(command, line, "undo", NULL) != NULL;
    if (!wish->is_json && strcmp(format, "table") != 0) {
        return sh_error_set(err, SH_ERR_ARGUMENT, "inspect --format", "take table or json",
                            "'%s' is no format", format);
    }
    enum sh_status status = parse_draw(line->operands[1], &wish->n, err);
    if (status == SH_OK) {
        status = parse_corrections(command, line, wish, err);
    }
    if (status == SH_OK && wish->is_undone && wish->n_marks > 0) {
        status = sh_error_set(err, SH_ERR_ARGUMENT, "inspect --undo", "do one after the other",
                              "--undo and --correct exclude each other");
    }
    return status;
}

static enum sh_status take_record(void *context,
                                  const struct sh_shot_record *record,
                                  const struct sh_shot_view *view,
                                  struct sh_error *err)
{
    struct sight *sight = context;
    (void)err;
    if (record->shot.n == sight->n) {
        sh_terminal_shot_take(&record->shot, view, sight->curves);
    }
    return SH_OK;
}

static void close_sight(struct sight *sight)
{
    free(sight->curves);
    sh_analysis_close(&sight->analysis);
    sh_corrections_close(&sight->corrections);
    *sight = (struct sight){.n = 0};
}

/* The record of the draw; NULL where there is none. */
static struct sh_shot_record *find_record(const struct sight *sight)
{
    for (size_t i = 0; i < sight->analysis.n_shots; i++) {
        if (sight->analysis.shots[i].shot.n == sight->n) {
            return &sight->analysis.shots[i];
        }
    }
    return NULL;
}

/* Analyses the recording; *sight is to be closed whatever comes back. */
static enum sh_status look(const struct wish *wish, struct sight *sight, struct sh_error *err)
{
    *sight = (struct sight){.n = wish->n, .curves = calloc(1, sizeof *sight->curves)};
    if (sight->curves == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, NULL, NULL, "out of memory");
    }
    const struct sh_passes_config config = {.thresholds = &wish->thresholds,
                                            .watcher = {take_record, sight},
                                            .corrections = &sight->corrections};
    enum sh_status status = sh_passes_run(wish->folder, &config, &sight->analysis, err);
    if (status == SH_OK && find_record(sight) == NULL) {
        status = sh_error_set(
            err, SH_ERR_NOT_FOUND, wish->folder, "see 'stringhand analyze' for their numbers",
            "there is no draw %u; it has %zu", wish->n, sight->analysis.n_shots);
    }
    return status;
}

/* Whether the new corrections would be used as the draw now stands. */
static enum sh_status
check_corrections(const struct wish *wish, const struct sh_shot *shot, struct sh_error *err)
{
    struct sh_corrections corrections;
    struct sh_shot corrected = *shot;
    enum sh_status status = sh_corrections_open(wish->marks, wish->n_marks, &corrections);
    if (status != SH_OK) {
        return sh_error_set(err, status, NULL, NULL, "out of memory");
    }
    sh_corrections_apply(&corrections, &corrected);
    for (size_t i = 0; i < corrections.n && status == SH_OK; i++) {
        const struct sh_correction *one = &corrections.list[i];
        if (one->state == SH_CORRECTION_REFUSED || one->state == SH_CORRECTION_LOST) {
            status = sh_error_set(
                err, SH_ERR_ARGUMENT, wish->folder, "nothing was written; see its events",
                "a %s at %.3f s %s draw %u", sh_shot_event_title(one->event),
                one->value_s.value,
                one->state == SH_CORRECTION_LOST ? "lies outside"
                                                 : "would be out of order with the events of",
                wish->n);
        }
    }
    sh_corrections_close(&corrections);
    return status;
}

static enum sh_status
correct(struct wish *wish, const struct sight *sight, struct sh_error *err)
{
    const struct sh_shot_record *record = find_record(sight);
    for (size_t i = 0; i < wish->n_marks; i++) {
        wish->marks[i].t_s = sh_analysis_get_time_s(record);
    }
    enum sh_status status = check_corrections(wish, &record->shot, err);
    return status == SH_OK
               ? sh_correction_file_add(wish->folder, wish->marks, wish->n_marks, err)
               : status;
}

static enum sh_status
undo(const struct wish *wish, const struct sight *sight, struct sh_error *err)
{
    for (size_t i = sight->corrections.n; i-- > 0;) {
        if (sight->corrections.list[i].n == wish->n) {
            return sh_correction_file_remove(wish->folder, sight->corrections.list[i].mark,
                                             err);
        }
    }
    return sh_error_set(err, SH_ERR_NOT_FOUND, wish->folder, NULL,
                        "draw %u has no correction to take back", wish->n);
}

/* Changes the marks as asked, and looks again. */
static enum sh_status change(struct wish *wish, struct sight *sight, struct sh_error *err)
{
    enum sh_status status = SH_OK;
    if (wish->n_marks == 0 && !wish->is_undone) {
        return SH_OK;
    }
    status = wish->is_undone ? undo(wish, sight, err) : correct(wish, sight, err);
    if (status == SH_OK) {
        close_sight(sight);
        status = look(wish, sight, err);
    }
    return status;
}

/* Columns of the terminal that is written to; 80 where there is none. */
static size_t find_columns(void)
{
    struct winsize size = {0};
    if (ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) != 0 || size.ws_col == 0) {
        return COLUMNS_DEFAULT;
    }
    size_t n_columns = size.ws_col;
    n_columns = n_columns > COLUMNS_MAX ? COLUMNS_MAX : n_columns;
    return n_columns < SH_TERMINAL_SHOT_COLUMNS_MIN ? SH_TERMINAL_SHOT_COLUMNS_MIN : n_columns;
}

static enum sh_exit show_json(const struct sight *sight)
{
    struct sh_text text;
    sh_text_init(&text, 0);
    sh_analysis_json_write_shot(find_record(sight), &text);
    sh_text_puts(&text, "\n");
    return sh_say_text(&text);
}

static enum sh_exit show_table(const struct wish *wish, const struct sight *sight)
{
    struct sh_text text;
    struct sh_text ascii;
    const struct sh_terminal_shot_config config = {
        wish->is_plain ? SH_TERMINAL_PLAIN : SH_TERMINAL_BRAILLE, find_columns()};
    size_t i = (size_t)(find_record(sight) - sight->analysis.shots);
    sh_text_init(&text, 0);
    enum sh_status status =
        sh_terminal_shot_write(&sight->analysis, i, sight->curves, &config, &text);
    text.status = text.status == SH_OK ? status : text.status;
    if (!wish->is_plain || text.status != SH_OK) {
        return sh_say_text(&text);
    }
    sh_text_init(&ascii, 0);
    sh_terminal_ascii_put(&ascii, text.data);
    sh_text_close(&text);
    return sh_say_text(&ascii);
}

static enum sh_exit run(const struct sh_command *command, const struct sh_command_line *line)
{
    struct sh_error err = {0};
    struct sight sight = {.n = 0};
    struct wish *wish = calloc(1, sizeof *wish);
    enum sh_exit answer = SH_EXIT_USAGE;
    if (wish == NULL) {
        (void)sh_error_set(&err, SH_ERR_MEMORY, NULL, NULL, "out of memory");
        return sh_say_error(&err, SH_EXIT_INPUT);
    }
    enum sh_status status = parse_wish(command, line, wish, &err);
    const char *path = sh_command_get(command, line, "thresholds", NULL);
    if (status == SH_OK) {
        answer = SH_EXIT_INPUT;
        status = path != NULL ? sh_thresholds_read(path, &wish->thresholds, &err) : SH_OK;
    }
    if (status == SH_OK) {
        status = look(wish, &sight, &err);
    }
    if (status == SH_OK) {
        status = change(wish, &sight, &err);
    }
    if (status != SH_OK) {
        answer = sh_say_error(&err, answer);
    } else {
        answer = wish->is_json ? show_json(&sight) : show_table(wish, &sight);
    }
    close_sight(&sight);
    free(wish);
    return answer;
}

const struct sh_command sh_command_inspect = {
    .name = "inspect",
    .operands = "RECORDING N",
    .summary = "Show one draw: what was seen, drawn and in figures; correct its events.",
    .details =
        "Letters above the drawings: D draw start, F full draw, C clicker, R release,\n"
        "L let-down, E end; a star behind one: corrected by a person. The line of = is the\n"
        "trend of the force before the click. Corrections are marks in recording.json, which\n"
        "every later analysis uses; times are those of the drawings.",
    .n_operands_min = 2,
    .n_operands_max = 2,
    .options = options,
    .n_options = sizeof options / sizeof options[0],
    .run = run,
};
