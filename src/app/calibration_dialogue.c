/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/calibration_dialogue.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "app/calibration_words.h"
#include "metrology/hung_mass.h"

#define STEADY_PARTS   100u
#define STEADY_MIN_S   10.0
#define STEADY_WORD    "steady"
#define MASS_QUESTION  "Mass hanging now ('help' for more): "
#define NO_NUMBER_TODO "write 5 kg, 500 g or 10 lb; 'done' when all are read"

static const char help_text[] =
    "  5 kg, 500 g, 10 lb   all that hangs now, hooks too: read it\n"
    "  0                    nothing hangs: read it\n"
    "  steady 60            the same mass goes on hanging: record its drift, 60 s\n"
    "  undo                 forget the last reading\n"
    "  done                 the masses are through; zero is read once more\n"
    "  quit                 end, and write nothing\n";

void sh_calibration_dialogue_init(struct sh_calibration_dialogue *dialogue,
                                  const struct sh_calibration_setup *setup)
{
    *dialogue = (struct sh_calibration_dialogue){.setup = setup};
}

static enum sh_status give_up(struct sh_error *err, const char *what)
{
    return sh_error_set(err, SH_ERR_NOT_FOUND, "calibrate", "begin anew; nothing was written",
                        "%s", what);
}

static enum sh_status rest(struct sh_calibration_dialogue *dialogue, struct sh_error *err)
{
    const struct timespec pause = {.tv_nsec = 20000000};
    if (dialogue->averager != NULL) {
        return sh_averager_idle(dialogue->averager, err);
    }
    (void)nanosleep(&pause, NULL);
    return SH_OK;
}

enum sh_status sh_calibration_dialogue_ask(struct sh_calibration_dialogue *dialogue,
                                           const char *question,
                                           char line[SH_PROMPT_LINE_BYTES],
                                           struct sh_error *err)
{
    enum sh_status status = SH_OK;
    (void)fputs(question, stderr);
    (void)fflush(stderr);
    while (status == SH_OK && !sh_prompt_find_line(&dialogue->prompt, line)) {
        if (dialogue->prompt.has_ended) {
            (void)fputs("\n", stderr);
            return give_up(err, "the answers ended too soon");
        }
        status = rest(dialogue, err);
    }
    return status;
}

enum sh_status sh_calibration_dialogue_confirm(struct sh_calibration_dialogue *dialogue,
                                               const char *question,
                                               bool *is_yes,
                                               struct sh_error *err)
{
    char line[SH_PROMPT_LINE_BYTES];
    enum sh_status status = SH_OK;
    *is_yes = false;
    while (status == SH_OK) {
        struct sh_error ended = {0};
        status = sh_calibration_dialogue_ask(dialogue, question, line, &ended);
        if (status != SH_OK && dialogue->prompt.has_ended) {
            return SH_OK;
        }
        if (status != SH_OK) {
            *err = ended;
        } else if (strcmp(line, "yes") == 0 || strcmp(line, "no") == 0) {
            *is_yes = line[0] == 'y';
            return SH_OK;
        }
    }
    return status;
}

enum sh_status sh_calibration_dialogue_begin(struct sh_calibration_dialogue *dialogue,
                                             struct sh_error *err)
{
    const struct sh_averager_config config = {.profile = dialogue->setup->profile,
                                              .address = dialogue->setup->address,
                                              .stream = dialogue->setup->stream};
    bool is_yes = false;
    (void)fputs(sh_calibration_words_get_cautions(), stderr);
    enum sh_status status = sh_calibration_dialogue_confirm(
        dialogue, "Is all of this so? (yes or no): ", &is_yes, err);
    if (status == SH_OK && !is_yes) {
        status = sh_error_set(err, SH_ERR_PERMISSION, "calibrate",
                              "see to the cautions and begin anew", "no mass was hung");
    }
    return status == SH_OK ? sh_averager_open(&config, &dialogue->averager, err) : status;
}

void sh_calibration_dialogue_end(struct sh_calibration_dialogue *dialogue)
{
    sh_averager_close(&dialogue->averager);
}

static void tell_reading(const struct sh_reading_table_row *row, double waited_s)
{
    (void)fprintf(stderr, "  %8.4f kg %-4s %12.2f counts, noise %.2f; %s\n", row->mass_kg,
                  row->is_down ? "down" : "up", row->counts, row->noise_counts,
                  row->is_unsettled ? "STILL MOVING: undo it, or let it hang longer"
                  : waited_s > 0.5  ? "settled after a while"
                                    : "settled");
}

static enum sh_status read_mass(struct sh_calibration_dialogue *dialogue,
                                double mass_kg,
                                struct sh_reading_table *table,
                                struct sh_error *err)
{
    const size_t channel = dialogue->setup->channel;
    struct sh_averager_reading reading;
    (void)fprintf(stderr, "  reading for %g s ...\n", dialogue->setup->seconds);
    enum sh_status status =
        sh_averager_take(dialogue->averager, channel, dialogue->setup->seconds, &reading, err);
    if (status != SH_OK) {
        return status;
    }
    const struct sh_reading_table_row row = {.mass_kg = mass_kg,
                                             .counts = reading.counts[channel],
                                             .noise_counts = reading.noise_counts[channel],
                                             .n_samples = reading.n_samples[channel],
                                             .is_unsettled = !reading.is_settled};
    status = sh_reading_table_add(table, &row, 0);
    if (status != SH_OK) {
        return sh_error_set(err, status, "calibrate", "begin anew with fewer",
                            "over %u readings", SH_CALIBRATION_READINGS_MAX);
    }
    tell_reading(&table->row[table->n - 1], reading.waited_s);
    return SH_OK;
}

static enum sh_status read_zero(struct sh_calibration_dialogue *dialogue,
                                const char *question,
                                struct sh_reading_table *table,
                                struct sh_error *err)
{
    char line[SH_PROMPT_LINE_BYTES];
    enum sh_status status = sh_calibration_dialogue_ask(dialogue, question, line, err);
    if (status == SH_OK && strcmp(line, "quit") == 0) {
        return give_up(err, "given up");
    }
    return status == SH_OK ? read_mass(dialogue, 0.0, table, err) : status;
}

/* "steady 60": the load's drift. */
static enum sh_status record_steady(struct sh_calibration_dialogue *dialogue,
                                    const char *line,
                                    struct sh_reading_table *table,
                                    struct sh_error *err)
{
    char *end = NULL;
    const double seconds = strtod(line + strlen(STEADY_WORD), &end);
    const bool hangs = table->n > 0 && table->row[table->n - 1].mass_kg > 0.0;
    if (*end != '\0' || !(seconds >= STEADY_MIN_S && seconds < SH_AVERAGER_STEADY_MAX_S) ||
        !hangs) {
        (void)fprintf(stderr, "  %s\n",
                      hangs ? "write steady and 10 to 599 seconds"
                            : "a mass has to be hung and read before");
        return SH_OK;
    }
    (void)fprintf(stderr, "  recording for %g s; touch nothing ...\n", seconds);
    const struct sh_averager_parts parts = {STEADY_PARTS, table->steady_s,
                                            table->steady_counts};
    enum sh_status status =
        sh_averager_record(dialogue->averager, dialogue->setup->channel, seconds, &parts, err);
    if (status == SH_OK) {
        table->n_steady = STEADY_PARTS;
        (void)fprintf(stderr, "  from %.2f to %.2f counts\n", table->steady_counts[0],
                      table->steady_counts[STEADY_PARTS - 1]);
    }
    return status;
}

static void undo(struct sh_reading_table *table)
{
    if (table->n > 1) {
        table->n--;
        (void)fprintf(stderr, "  %zu readings are left\n", table->n);
    } else {
        (void)fputs("  zero stays; quit and begin anew to read it again\n", stderr);
    }
}

/* One answer; *is_done after the last. */
static enum sh_status obey(struct sh_calibration_dialogue *dialogue,
                           const char *line,
                           struct sh_reading_table *table,
                           bool *is_done,
                           struct sh_error *err)
{
    double mass_kg = 0.0;
    if (strcmp(line, "quit") == 0) {
        return give_up(err, "given up");
    }
    if (strcmp(line, "done") == 0) {
        *is_done = true;
    } else if (strcmp(line, "undo") == 0) {
        undo(table);
    } else if (strcmp(line, "help") == 0) {
        (void)fputs(help_text, stderr);
    } else if (strncmp(line, STEADY_WORD, strlen(STEADY_WORD)) == 0) {
        return record_steady(dialogue, line, table, err);
    } else if (sh_hung_mass_parse(line, &mass_kg)) {
        return read_mass(dialogue, mass_kg, table, err);
    } else if (line[0] != '\0') {
        (void)fprintf(stderr, "  '%s' is no mass; %s\n", line, NO_NUMBER_TODO);
    }
    return SH_OK;
}

enum sh_status sh_calibration_dialogue_take(struct sh_calibration_dialogue *dialogue,
                                            struct sh_reading_table *table,
                                            struct sh_error *err)
{
    char line[SH_PROMPT_LINE_BYTES];
    bool is_done = false;
    enum sh_status status =
        read_zero(dialogue, "Nothing hangs, all is still: press Enter. ", table, err);
    (void)fputs(status == SH_OK ? help_text : "", stderr);
    while (status == SH_OK && !is_done) {
        status = sh_calibration_dialogue_ask(dialogue, MASS_QUESTION, line, err);
        if (status == SH_OK) {
            status = obey(dialogue, line, table, &is_done, err);
        }
    }
    if (status == SH_OK && table->row[table->n - 1].mass_kg > 0.0) {
        status = read_zero(
            dialogue, "Take all masses off by hand. Nothing hangs: press Enter. ", table, err);
    }
    return status;
}
