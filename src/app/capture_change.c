/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <inttypes.h>
#include <stdio.h>
#include <string.h>
#include <time.h>

#include "app/capture_inside.h"
#include "app/capture_ports.h"
#include "report/utf8.h"

#define IDLE_NS 20000000L /* a step without sensors */

/* The sensors' blocks go to whatever take is running. */
static enum sh_status
take_block(void *context, const struct sh_block *block, struct sh_error *err)
{
    struct sh_capture *capture = context;
    const struct sh_block_sink sink = sh_take_get_sink(capture->take);
    capture->clocks.arrived_us = sh_intake_set_get_arrival_us(&capture->intakes);
    sh_clocks_push_block(&capture->clocks, block);
    enum sh_status status = sink.block(sink.context, block, err);
    if (status == SH_OK) {
        sh_capture_fronts_block(&capture->fronts, block, &capture->clocks);
    }
    return status == SH_OK ? sh_limit_voice_push(&capture->voice, &capture->clocks, block,
                                                 capture->take_begin_s, err)
                           : status;
}

static enum sh_status
take_anchor(void *context, size_t stream, const struct sh_anchor *anchor, struct sh_error *err)
{
    struct sh_capture *capture = context;
    const struct sh_block_sink sink = sh_take_get_sink(capture->take);
    enum sh_status status = sh_clocks_push_anchor(&capture->clocks, stream, anchor);
    if (status != SH_OK) {
        return sh_error_set(err, status, NULL, NULL, "the clock of stream %zu is full", stream);
    }
    return sink.anchor(sink.context, stream, anchor, err);
}

static enum sh_status open_intakes(struct sh_capture *capture, struct sh_error *err)
{
    const struct sh_block_sink sink = {
        .block = take_block, .anchor = take_anchor, .context = capture};
    return sh_intake_set_open(capture->setup, capture->start_us, &sink, &capture->intakes, err);
}

/* No sensor: whatever there was has been ended. */
static void be_idle(struct sh_capture *capture, const struct sh_error *why)
{
    struct sh_error none = {.status = SH_OK};
    sh_capture_sensors_clear(capture->setup);
    (void)open_intakes(capture, &none); /* of no sensors: there is nothing to fail */
    sh_capture_fronts_idle(&capture->fronts, capture->setup->session, why);
}

/* The take is begun before any port is open: it may have to read earlier recordings first. */
enum sh_status sh_capture_open_sensors(struct sh_capture *capture, struct sh_error *err)
{
    if (capture->setup->n_sensors == 0) {
        be_idle(capture, NULL);
        return SH_OK;
    }
    memset(capture->before, 0, sizeof capture->before);
    capture->has_told_loss = false;
    enum sh_status status = sh_clocks_init(&capture->clocks, capture->setup->session);
    status = status == SH_OK ? sh_capture_begin_take(capture, err) : status;
    if (status != SH_OK) {
        sh_clocks_close(&capture->clocks);
        return status;
    }
    status = open_intakes(capture, err);
    if (status != SH_OK) {
        sh_intake_set_close(&capture->intakes);
        (void)sh_capture_end_take(capture, NULL);
        sh_clocks_close(&capture->clocks);
    }
    return status;
}

/* What came in and what did not, in one line. */
static void report_frames(struct sh_capture *capture)
{
    struct sh_frame_counts sum = sh_intake_set_add_up(&capture->intakes);
    uint64_t n_strange = sh_intake_set_get_strange(&capture->intakes);
    uint64_t n_lost_bytes = sh_intake_set_get_lost_bytes(&capture->intakes);
    char text[256];
    (void)snprintf(text, sizeof text,
                   "frames: %" PRIu64 " good, %" PRIu64 " lost, %" PRIu64 " damaged, %" PRIu64
                   " repeated, %" PRIu64 " late, %" PRIu64
                   " that do not fit the profile; %" PRIu64 " bytes skipped\n",
                   sum.good, sum.lost, sum.damaged, sum.repeated, sum.late, n_strange,
                   sum.skipped_bytes);
    sh_capture_fronts_say(&capture->fronts, text);
    if (n_lost_bytes > 0) {
        (void)snprintf(text, sizeof text,
                       "no room: %" PRIu64 " bytes while this machine was held up, among those "
                       "skipped\n",
                       n_lost_bytes);
        sh_capture_fronts_say(&capture->fronts, text);
    }
    capture->n_good_frames = sum.good;
    capture->result->n_good_frames += sum.good;
}

enum sh_status sh_capture_end_sensors(struct sh_capture *capture, struct sh_error *err)
{
    if (capture->take == NULL) {
        return SH_OK;
    }
    enum sh_status status = sh_intake_set_flush(&capture->intakes, err);
    enum sh_status ended = sh_capture_end_take(capture, status == SH_OK ? err : NULL);
    report_frames(capture);
    sh_intake_set_close(&capture->intakes);
    sh_clocks_close(&capture->clocks);
    return status != SH_OK ? status : ended;
}

/* Chosen sensors have ended, or failed: why. */
static void lose_sensors(struct sh_capture *capture, struct sh_error *why)
{
    struct sh_error *err = why->status == SH_OK ? why : NULL;
    enum sh_status ended = sh_capture_end_sensors(capture, err);
    const bool has_failed = ended != SH_OK || err == NULL;
    if (has_failed && capture->n_good_frames > 0 && capture->failure.status == SH_OK) {
        capture->failure = *why;
    }
    (void)sh_error_set(why, SH_ERR_NOT_FOUND, capture->setup->address[0],
                       "start it again, then choose it again", "the sensor has ended");
    be_idle(capture, why);
}

enum sh_status
sh_capture_step_sensors(struct sh_capture *capture, bool *can_go_on, struct sh_error *err)
{
    const struct timespec pause = {.tv_nsec = IDLE_NS};
    struct sh_error why = {.status = SH_OK};
    if (capture->take == NULL) {
        (void)nanosleep(&pause, NULL);
        return SH_OK;
    }
    if (!capture->has_chosen) {
        return sh_intake_set_step(&capture->intakes, can_go_on, err);
    }
    enum sh_status status = sh_intake_set_step(&capture->intakes, can_go_on, &why);
    if (status != SH_OK || !*can_go_on) {
        why.status = status;
        lose_sensors(capture, &why);
        *can_go_on = true;
    }
    return SH_OK;
}

/* What is read now, since nobody gave it on the command line. */
static void say_sensors(struct sh_capture *capture)
{
    const struct sh_capture_setup *setup = capture->setup;
    struct sh_text text;
    sh_text_init(&text, 0);
    for (size_t i = 0; i < setup->n_sensors; i++) {
        const char *name = setup->profiles[i].name;
        sh_text_puts(&text, "sensor: ");
        sh_utf8_put(&text, name[0] != '\0' ? name : "without a name", SH_UTF8_MASK_CONTROL);
        sh_text_puts(&text, " at ");
        sh_utf8_put(&text, setup->address[i], SH_UTF8_MASK_CONTROL);
        sh_text_puts(&text, "\n");
    }
    if (text.status == SH_OK && text.n_bytes > 0) {
        sh_capture_fronts_say(&capture->fronts, text.data);
    }
    sh_text_close(&text);
}

/* Those that were just put in; refused: why they cannot be read. */
static enum sh_status
begin_chosen(struct sh_capture *capture, struct sh_error *refused, struct sh_error *err)
{
    capture->has_chosen = true;
    capture->take_begin_s = sh_capture_find_now_s(capture);
    enum sh_status opened = sh_capture_open_sensors(capture, refused);
    if (opened != SH_OK) {
        refused->status = opened;
        be_idle(capture, refused);
    }
    if (opened != SH_OK || capture->take == NULL) {
        return SH_OK;
    }
    say_sensors(capture);
    return sh_capture_carry_clock(capture, err);
}

/* What can be known beforehand does not end a recording. */
static enum sh_status try_ports(const struct sh_capture *capture,
                                struct sh_capture_choice *choice,
                                struct sh_error *refused)
{
    return capture->take != NULL ? sh_capture_ports_open(choice, capture->setup, refused)
                                 : SH_OK;
}

enum sh_status sh_capture_change_sensors(struct sh_capture *capture,
                                         struct sh_capture_choice *choice,
                                         struct sh_error *refused,
                                         struct sh_error *err)
{
    enum sh_status status = SH_OK;
    if (sh_capture_choice_check(choice, refused) == SH_OK &&
        try_ports(capture, choice, refused) == SH_OK) {
        status = sh_capture_end_sensors(capture, err);
        if (status == SH_OK &&
            sh_capture_sensors_put(capture->setup, choice, refused) == SH_OK) {
            status = begin_chosen(capture, refused, err);
        } else if (status == SH_OK) {
            be_idle(capture, refused);
        }
    }
    sh_capture_choice_close(choice);
    return status;
}

struct sh_capture_hearing sh_capture_get_hearing(const struct sh_capture *capture,
                                                 size_t sensor)
{
    const struct sh_intake *intake = capture->intakes.intake[sensor];
    struct sh_capture_hearing hearing = {.is_open = sh_intake_is_open(intake),
                                         .n_bytes = sh_intake_get_bytes(intake)};
    for (size_t i = 0; i < capture->setup->profiles[sensor].n_streams; i++) {
        hearing.n_good += sh_intake_get_counts(intake, i).good;
    }
    return hearing;
}
