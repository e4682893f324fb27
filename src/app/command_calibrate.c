/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "app/bow_calibration.h"
#include "app/calibration_dialogue.h"
#include "app/calibration_json.h"
#include "app/calibration_result.h"
#include "app/calibration_setup.h"
#include "app/calibration_words.h"
#include "app/commands.h"
#include "app/crosstalk_calibration.h"
#include "app/say.h"
#include "sensor/profile_edit.h"

/* What the command prints: sentences first; in a dialogue last, where they stay in sight. */
static void format_result(const struct sh_calibration_setup *setup,
                          const struct sh_calibration_result *result,
                          struct sh_text *text)
{
    const struct sh_profile_stream *stream = &setup->profile->streams[setup->stream];
    const struct sh_calibration_json_subject subject = {setup->path, stream->stream.name,
                                                        stream->column[setup->channel] + 1};
    const enum sh_terminal_charset charset =
        setup->is_plain ? SH_TERMINAL_PLAIN : SH_TERMINAL_BRAILLE;
    const bool is_guided = setup->from == NULL;
    if (setup->is_json) {
        (void)sh_calibration_json_write(result, &subject, text);
        return;
    }
    if (is_guided) {
        sh_calibration_words_format_table(result, text);
    } else {
        sh_calibration_words_format_verdict(result, text);
        sh_text_puts(text, "\n");
    }
    sh_calibration_words_draw_residuals(result, charset, text);
    sh_text_puts(text, is_guided ? "" : "\n");
    if (is_guided) {
        sh_calibration_words_format_verdict(result, text);
    } else {
        sh_calibration_words_format_table(result, text);
        sh_text_puts(text, "\n");
        sh_calibration_words_format_keys(result, text);
    }
}

/* Puts the channel's new keys into the profile, where that is wished. */
static enum sh_status write_profile(struct sh_calibration_setup *setup,
                                    struct sh_calibration_dialogue *dialogue,
                                    struct sh_error *err)
{
    char question[SH_ERROR_WHERE_BYTES];
    bool is_yes = setup->is_told_to_write;
    struct sh_text backup;
    enum sh_status status = SH_OK;
    (void)snprintf(
        question, sizeof question,
        "Write this into %s? The file as it was is kept. (yes or no): ", setup->path);
    if (!is_yes) {
        status = sh_calibration_dialogue_confirm(dialogue, question, &is_yes, err);
    }
    if (status != SH_OK || !is_yes) {
        (void)fputs(status == SH_OK ? "Nothing was written.\n" : "", stderr);
        return status;
    }
    sh_text_init(&backup, 0);
    status = sh_profile_edit_write(setup->profile, setup->path, &backup, err);
    if (status == SH_OK) {
        (void)fprintf(stderr, "Written to %s; before: %s\n", setup->path, backup.data);
    }
    sh_text_close(&backup);
    return status;
}

static enum sh_status take_readings(struct sh_calibration_dialogue *dialogue,
                                    struct sh_reading_table *table,
                                    struct sh_error *err)
{
    if (dialogue->setup->from != NULL) {
        return sh_reading_table_read(dialogue->setup->from, table, err);
    }
    enum sh_status status = sh_calibration_dialogue_begin(dialogue, err);
    if (status == SH_OK) {
        status = sh_calibration_dialogue_take(dialogue, table, err);
    }
    sh_calibration_dialogue_end(dialogue);
    return status;
}

static enum sh_status calibrate_force(struct sh_calibration_setup *setup, struct sh_error *err)
{
    struct sh_calibration_dialogue dialogue;
    struct sh_calibration_result *result = calloc(1, sizeof *result);
    struct sh_text text;
    struct sh_channel *channel =
        &setup->profile->streams[setup->stream].stream.channel[setup->channel];
    if (result == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, NULL, NULL, "out of memory");
    }
    sh_calibration_dialogue_init(&dialogue, setup);
    sh_text_init(&text, 0);
    result->place = setup->place;
    result->is_gravity_given = setup->is_gravity_given;
    result->channel = *channel;
    enum sh_status status = take_readings(&dialogue, &result->table, err);
    if (status == SH_OK) {
        status = sh_calibration_result_solve(result, setup->date, err);
    }
    if (status == SH_OK) {
        format_result(setup, result, &text);
        *channel = result->channel;
        /* a text that failed has been said */
        status = sh_say_text(&text) == SH_EXIT_DONE ? SH_OK : SH_ERR_IO;
    }
    if (status == SH_OK) {
        status = write_profile(setup, &dialogue, err);
    }
    sh_text_close(&text);
    free(result);
    return status;
}

static enum sh_status calibrate_crosstalk(struct sh_calibration_setup *setup,
                                          struct sh_error *err)
{
    struct sh_calibration_dialogue dialogue;
    struct sh_text text;
    sh_calibration_dialogue_init(&dialogue, setup);
    sh_text_init(&text, 0);
    enum sh_status status = sh_crosstalk_calibration_run(setup, &dialogue, &text, err);
    if (status == SH_OK) {
        status = sh_say_text(&text) == SH_EXIT_DONE ? SH_OK : SH_ERR_IO;
    }
    if (status == SH_OK) {
        status = write_profile(setup, &dialogue, err);
    }
    sh_text_close(&text);
    return status;
}

static enum sh_status calibrate(struct sh_calibration_setup *setup, struct sh_error *err)
{
    switch (setup->job) {
    case SH_CALIBRATION_JOB_CROSSTALK:
        return calibrate_crosstalk(setup, err);
    case SH_CALIBRATION_JOB_BOW:
        return sh_bow_calibration_run(setup, err);
    case SH_CALIBRATION_JOB_FORCE:
        break;
    }
    return calibrate_force(setup, err);
}

static enum sh_exit run(const struct sh_command *command, const struct sh_command_line *line)
{
    struct sh_calibration_setup setup;
    struct sh_error err = {0};
    enum sh_status status = sh_calibration_setup_read(command, line, &setup, &err);
    enum sh_exit exit_status = status == SH_ERR_ARGUMENT ? SH_EXIT_USAGE : SH_EXIT_INPUT;
    if (status == SH_OK) {
        exit_status = SH_EXIT_INPUT;
        status = calibrate(&setup, &err);
    }
    sh_calibration_setup_close(&setup);
    if (status == SH_OK) {
        return SH_EXIT_DONE;
    }
    /* what could not be printed has been said where it was */
    return err.status != SH_OK ? sh_say_error(&err, exit_status) : exit_status;
}

const struct sh_command sh_command_calibrate = {
    .name = "calibrate",
    .operands = "",
    .summary =
        "Turn a sensor's counts into newtons, or a force-draw table into a bow's figures.",
    .details =
        "Guided with a sensor at its port: it asks for masses, reads the sensor under each,\n"
        "and puts what it finds into the profile once you say so. The bow lies in a padded\n"
        "cradle, masses are lowered by hand on a safety line, feet clear, eyes protected; a\n"
        "string under load is never let go. Readings written down before do as well, and a\n"
        "force-draw table gives a bow's draw weight, stiffness and stored energy.",
    .options = sh_calibration_setup_options,
    .n_options = 21,
    .run = run,
};
