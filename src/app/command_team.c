/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "app/clock_setup.h"
#include "app/commands.h"
#include "app/home.h"
#include "app/say.h"
#include "app/team_source.h"
#include "report/team_csv.h"
#include "report/team_json.h"
#include "report/team_table.h"

#define GIVEN_MAX SH_COMMAND_VALUES_MAX

static const struct sh_command_option options[] = {
    {"round", "NAME", "how arrows are shot; team for three archers, mixed for two", 0},
    {"rounds", "FILE", "formats of your own, see docs/clock.md", 0},
    {"set", "KEY=VALUE", "change a value of the format, shooting_s=100 say; may be repeated",
     0},
    {"hand-over", "[NAME=]S[-S]", "seconds to take over, of all or of one; may be repeated", 0},
    {"first-takes-over", NULL, "the first archer, too, needs a hand-over's time", 0},
    {"folder", "FOLDER", "where the athletes' recordings lie, in place of the home's", 0},
    {"format", "FORMAT", "table (default), json or csv", 0},
    {"seed", "N", "start of the random numbers; 1 if not given", 0},
    {"runs", "N", "ends simulated; 20000 if not given", 0},
    {"home", "FOLDER", "where an athlete's recordings lie", 0},
};

/* Indices of those that may be repeated. */
#define SET       2
#define HAND_OVER 3

#define RUNS_MIN 100u
#define RUNS_MAX 1000000u

static const struct format {
    const char *name;
    enum sh_status (*write)(const struct sh_team_sheet *sheet, struct sh_text *text);
} formats[] = {
    {"table", sh_team_table_write},
    {"json", sh_team_json_write},
    {"csv", sh_team_csv_write},
};

/* What was asked for. */
struct wish {
    const struct format *format;
    struct sh_round_format round;
    struct sh_team_chance_config config;
    struct sh_team_source_hand_over given[GIVEN_MAX];
    size_t n_given;
    bool is_first_handed;
};

static enum sh_status read_format(const char *name, struct wish *wish, struct sh_error *err)
{
    for (size_t i = 0; i < sizeof formats / sizeof formats[0]; i++) {
        if (strcmp(formats[i].name, name) == 0) {
            wish->format = &formats[i];
            return SH_OK;
        }
    }
    return sh_error_set(err, SH_ERR_ARGUMENT, "team --format", "take table, json or csv",
                        "'%s' is no format", name);
}

static enum sh_status read_count(const char *word,
                                 const char *where,
                                 unsigned long least,
                                 unsigned long most,
                                 unsigned long *out,
                                 struct sh_error *err)
{
    char *rest = NULL;
    errno = 0;
    *out = strtoul(word, &rest, 10);
    if (word[0] >= '0' && word[0] <= '9' && *rest == '\0' && errno == 0 && *out >= least &&
        *out <= most) {
        return SH_OK;
    }
    char todo[64];
    (void)snprintf(todo, sizeof todo, "give a whole number, %lu to %lu", least, most);
    return sh_error_set(err, SH_ERR_ARGUMENT, where, todo, "'%s' is not understood", word);
}

/* Whether the format is one for so many archers, who share out its arrows. */
static enum sh_status
check_round(const struct sh_round_format *round, size_t n_archers, struct sh_error *err)
{
    if (round->kind != SH_ROUND_FORMAT_END) {
        return sh_error_set(err, SH_ERR_ARGUMENT, "team --round",
                            "take a format with one time for all arrows",
                            "format '%s' gives each arrow its own time", round->name);
    }
    if (round->n_archers != n_archers) {
        char todo[64];
        (void)snprintf(todo, sizeof todo, "take another --round, or --set archers=%zu",
                       n_archers);
        return sh_error_set(err, SH_ERR_ARGUMENT, "team", todo,
                            "format '%s' is for %u archers, %zu are named", round->name,
                            round->n_archers, n_archers);
    }
    if (round->n_arrows % n_archers != 0) {
        return sh_error_set(err, SH_ERR_ARGUMENT, "team", "change it by --set arrows=N",
                            "%u arrows cannot be shared out among %zu archers", round->n_arrows,
                            n_archers);
    }
    if (round->n_arrows > SH_TEAM_PLAN_TURNS_MAX) {
        return sh_error_set(err, SH_ERR_ARGUMENT, "team", "change it by --set arrows=N",
                            "%u arrows are more than %u turns", round->n_arrows,
                            SH_TEAM_PLAN_TURNS_MAX);
    }
    return SH_OK;
}

static enum sh_status read_round(const struct sh_command *command,
                                 const struct sh_command_line *line,
                                 struct wish *wish,
                                 struct sh_error *err)
{
    const char *name =
        sh_command_get(command, line, "round", line->n_operands == 2 ? "mixed" : "team");
    enum sh_status status = sh_clock_setup_find(
        name, sh_command_get(command, line, "rounds", NULL), "team --round", &wish->round, err);
    for (size_t i = 0; i < line->n_values && status == SH_OK; i++) {
        if (line->values[i].option == SET) {
            status = sh_clock_setup_set(&wish->round, line->values[i].text, "team --set", err);
        }
    }
    if (status == SH_OK) {
        status = sh_round_format_check(&wish->round, "team --set", err);
    }
    return status == SH_OK ? check_round(&wish->round, line->n_operands, err) : status;
}

static enum sh_status
read_hand_overs(const struct sh_command_line *line, struct wish *wish, struct sh_error *err)
{
    enum sh_status status = SH_OK;
    for (size_t i = 0; i < line->n_values && status == SH_OK; i++) {
        if (line->values[i].option == HAND_OVER) {
            status = sh_team_source_parse_hand_over(line->values[i].text, "team --hand-over",
                                                    &wish->given[wish->n_given++], err);
        }
    }
    return status;
}

static enum sh_status read_wish(const struct sh_command *command,
                                const struct sh_command_line *line,
                                struct wish *wish,
                                struct sh_error *err)
{
    unsigned long seed = 1;
    unsigned long n_runs = 0;
    *wish = (struct wish){.config = sh_team_chance_config_default()};
    wish->is_first_handed = sh_command_get(command, line, "first-takes-over", NULL) != NULL;
    enum sh_status status =
        read_format(sh_command_get(command, line, "format", "table"), wish, err);
    if (status == SH_OK) {
        status = read_count(sh_command_get(command, line, "seed", "1"), "team --seed", 0,
                            ~0ul >> 1, &seed, err);
    }
    if (status == SH_OK) {
        status = read_count(sh_command_get(command, line, "runs", "20000"), "team --runs",
                            RUNS_MIN, RUNS_MAX, &n_runs, err);
    }
    wish->config.seed = seed;
    wish->config.n_runs = n_runs;
    if (status == SH_OK) {
        status = read_hand_overs(line, wish, err);
    }
    return status == SH_OK ? read_round(command, line, wish, err) : status;
}

/* Turns as the format has them, or of all arrows; and of one, where that is another. */
static size_t list_turns(const struct sh_round_format *round,
                         size_t n_arrows,
                         size_t turns[SH_TEAM_SHEET_CHANCES_MAX])
{
    const size_t n_turn = round->n_arrows_turn;
    turns[0] = n_turn > 0 && n_arrows % n_turn == 0 ? n_turn : n_arrows;
    turns[1] = 1;
    return turns[0] > 1 ? 2 : 1;
}

static enum sh_status write_all(const struct sh_team_source *source,
                                const struct wish *wish,
                                struct sh_text *text,
                                struct sh_error *err)
{
    size_t turns[SH_TEAM_SHEET_CHANCES_MAX];
    const size_t n_arrows = wish->round.n_arrows / source->n;
    const size_t n_chances = list_turns(&wish->round, n_arrows, turns);
    struct sh_team_chance *chances = calloc(n_chances, sizeof *chances);
    enum sh_status status = chances != NULL ? SH_OK : SH_ERR_MEMORY;
    for (size_t i = 0; i < n_chances && status == SH_OK; i++) {
        const struct sh_team_plan plan = {.archers = source->archers,
                                          .n_archers = source->n,
                                          .n_arrows = n_arrows,
                                          .n_turn = turns[i],
                                          .shooting_s = wish->round.shooting_s,
                                          .is_first_handed = wish->is_first_handed};
        status = sh_team_chance_get(&plan, &wish->config, &chances[i]);
    }
    if (status == SH_OK) {
        const struct sh_team_sheet sheet = {.round = wish->round.name,
                                            .archers = source->sheet,
                                            .n_archers = source->n,
                                            .chances = chances,
                                            .n_chances = n_chances};
        status = wish->format->write(&sheet, text);
    }
    free(chances);
    return status == SH_OK
               ? SH_OK
               : sh_error_set(err, status, "team", NULL, "the chances cannot be worked out");
}

static enum sh_status find_place(const struct sh_command *command,
                                 const struct sh_command_line *line,
                                 char home[SH_HOME_PATH_BYTES],
                                 char recordings[SH_HOME_PATH_BYTES],
                                 struct sh_error *err)
{
    const char *folder = sh_command_get(command, line, "folder", NULL);
    const enum sh_status status =
        sh_home_find(sh_command_get(command, line, "home", NULL), home, err);
    if (folder != NULL) {
        (void)snprintf(recordings, SH_HOME_PATH_BYTES, "%s", folder);
    } else {
        (void)snprintf(recordings, SH_HOME_PATH_BYTES, "%.*s/recordings",
                       (int)SH_HOME_PATH_BYTES - 16, home);
    }
    return status;
}

static enum sh_exit run(const struct sh_command *command, const struct sh_command_line *line)
{
    char home[SH_HOME_PATH_BYTES] = "";
    char recordings[SH_HOME_PATH_BYTES];
    const struct sh_history_update_sink unread = {sh_say_unread, NULL};
    const struct sh_athlete_list_place place = {home, recordings, &unread};
    struct sh_error err = {0};
    struct sh_team_source source = {0};
    struct wish wish;
    struct sh_text text;
    enum sh_status status = read_wish(command, line, &wish, &err);
    if (status != SH_OK) {
        return sh_say_error(&err, status == SH_ERR_ARGUMENT ? SH_EXIT_USAGE : SH_EXIT_INPUT);
    }
    status = find_place(command, line, home, recordings, &err);
    if (status == SH_OK) {
        status = sh_team_source_read(&place, line->operands, line->n_operands, &source, &err);
    }
    if (status == SH_OK) {
        status = sh_team_source_set_hand_overs(&source, wish.given, wish.n_given, &err);
    }
    sh_text_init(&text, 0);
    if (status == SH_OK) {
        status = write_all(&source, &wish, &text, &err);
    }
    sh_team_source_close(&source);
    if (status != SH_OK) {
        sh_text_close(&text);
        return sh_say_error(&err, SH_EXIT_INPUT);
    }
    return sh_say_text(&text);
}

const struct sh_command sh_command_team = {
    .name = "team",
    .operands = "ATHLETE|FOLDER...",
    .summary = "Tell whether a team finishes its end in time, in which order and turns.",
    .details =
        "Two to four archers, each by name or by a folder of own recordings. Their times\n"
        "are drawn from their own arrows; those under a clock count before free ones.\n"
        "The rules of the event and of the range come first.",
    .n_operands_min = SH_TEAM_PLAN_ARCHERS_MIN,
    .n_operands_max = SH_TEAM_PLAN_ARCHERS_MAX,
    .options = options,
    .n_options = sizeof options / sizeof options[0],
    .run = run,
};
