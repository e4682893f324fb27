/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/capture_terminal.h"

#include <stdio.h>
#include <string.h>

#include "app/shot_sentence.h"
#include "app/shown.h"

static void say(void *context, const char *text)
{
    struct sh_capture_terminal *terminal = context;
    sh_live_line_print(&terminal->line, text);
}

static void ring(void *context)
{
    say(context, "\a");
}

/* Another archer has another goal. */
static void set_goal(struct sh_capture_terminal *terminal, const char *athlete)
{
    const struct sh_capture_setup *setup = terminal->setup;
    terminal->goal = sh_goal_voice_open(setup->home, athlete, setup->has_goal_sound);
}

static void say_line(struct sh_capture_terminal *terminal, const struct sh_error *err)
{
    char message[SH_ERROR_LINE_BYTES];
    char line[SH_ERROR_LINE_BYTES + 1];
    sh_error_format(err, message);
    (void)snprintf(line, sizeof line, "%s\n", message);
    sh_live_line_print(&terminal->line, line);
}

static void be_idle(void *context, const struct sh_session *session, const struct sh_error *why)
{
    struct sh_capture_terminal *terminal = context;
    if (why != NULL) {
        say_line(terminal, why);
    } else if (!terminal->is_idle) {
        say(terminal, "No sensor is read: choose one on the page, under Setting up.\n");
    }
    terminal->is_idle = true;
    set_goal(terminal, session->athlete);
}

static void begin(void *context, const struct sh_capture_recording *recording)
{
    struct sh_capture_terminal *terminal = context;
    struct sh_text text;
    terminal->is_idle = false;
    set_goal(terminal, recording->session->athlete);
    sh_text_init(&text, 0);
    sh_goal_voice_put_goal(&terminal->goal, &text);
    if (text.status == SH_OK && text.n_bytes > 0) {
        say(context, text.data);
    }
    sh_text_close(&text);
}

static void
show_shot(void *context, const struct sh_shot_record *record, const struct sh_shot_view *view)
{
    struct sh_capture_terminal *terminal = context;
    (void)view;
    struct sh_text text;
    sh_text_init(&text, 0);
    sh_shot_sentence_format(record, &text);
    sh_goal_voice_judge(&terminal->goal, record, &text);
    if (text.status == SH_OK) {
        say(context, text.data);
    }
    sh_text_close(&text);
}

/* Its path, or its shots as they were shown. */
static enum sh_status
print_end(void *context, const struct sh_capture_recording *recording, struct sh_error *err)
{
    struct sh_capture_terminal *terminal = context;
    if (!recording->has_folder) {
        return SH_OK;
    }
    sh_live_line_close(&terminal->line);
    return sh_shown_print(recording->folder, terminal->setup->format, recording->shown, err);
}

/* Says what became of what was typed. */
static void confirm(struct sh_capture_terminal *terminal, const struct sh_entry *entry)
{
    struct sh_text text;
    sh_text_init(&text, 0);
    sh_entry_format(entry, &text);
    if (text.status == SH_OK && text.n_bytes > 0) {
        sh_live_line_print(&terminal->line, text.data);
    }
    sh_text_close(&text);
}

static enum sh_status obey(struct sh_capture_terminal *terminal,
                           struct sh_capture *capture,
                           const char *typed,
                           bool *has_ended,
                           struct sh_error *err)
{
    struct sh_entry entry;
    struct sh_error refused = {0};
    if (sh_entry_parse(typed, &entry, &refused) == SH_OK && entry.kind == SH_ENTRY_MARK &&
        !sh_entry_is_of_clock(&entry) && !sh_capture_is_recording(capture)) {
        (void)sh_error_set(&refused, SH_ERR_NOT_FOUND, NULL, "choose a sensor on the page",
                           "nothing is being recorded");
    }
    if (refused.status != SH_OK) {
        say_line(terminal, &refused);
        return SH_OK;
    }
    enum sh_status status = sh_capture_obey(capture, &entry, err);
    *has_ended = entry.kind == SH_ENTRY_END;
    if (status == SH_OK) {
        confirm(terminal, &entry);
    }
    return status;
}

static void show(struct sh_capture_terminal *terminal, const struct sh_capture *capture)
{
    struct sh_capture_view now;
    struct sh_text left;
    struct sh_text goal;
    sh_capture_get_view(capture, &now);
    sh_text_init(&left, 0);
    sh_text_init(&goal, 0);
    sh_capture_put_clock(capture, &left);
    sh_goal_voice_put_live(&terminal->goal, &now.state, &goal);
    if (sh_goal_voice_take_bell(&terminal->goal, &now.state)) {
        ring(terminal);
    }
    const struct sh_live_line_view view = {.athlete = now.athlete,
                                           .state = now.state,
                                           .counts = now.counts,
                                           .is_pulled = now.is_pulled,
                                           .is_idle = now.is_idle,
                                           .clock = left.data,
                                           .goal = goal.data,
                                           .typed = terminal->prompt.typed};
    sh_live_line_set(&terminal->line, &view);
    sh_text_close(&left);
    sh_text_close(&goal);
}

/* Standard input is the keyboard's unless a sensor speaks there. */
static void open_prompt(struct sh_capture_terminal *terminal)
{
    terminal->has_prompt = true;
    for (size_t i = 0; i < terminal->setup->n_sensors; i++) {
        if (strcmp(terminal->setup->address[i], "-") == 0) {
            sh_prompt_open_silent(&terminal->prompt);
            return;
        }
    }
    sh_prompt_open(&terminal->prompt);
    if (terminal->prompt.is_terminal) {
        (void)fputs(sh_entry_get_help(), stderr);
    }
}

static enum sh_status step(void *context, struct sh_capture *capture, struct sh_error *err)
{
    struct sh_capture_terminal *terminal = context;
    char typed[SH_PROMPT_LINE_BYTES];
    enum sh_status status = SH_OK;
    bool has_ended = false;
    if (!terminal->has_prompt) {
        open_prompt(terminal);
    }
    while (status == SH_OK && !has_ended && sh_prompt_find_line(&terminal->prompt, typed)) {
        status = obey(terminal, capture, typed, &has_ended, err);
    }
    if (status == SH_OK) {
        show(terminal, capture);
    }
    return status;
}

void sh_capture_terminal_open(struct sh_capture_terminal *terminal,
                              const struct sh_capture_setup *setup)
{
    *terminal = (struct sh_capture_terminal){.setup = setup};
    sh_live_line_init(&terminal->line);
}

void sh_capture_terminal_close(struct sh_capture_terminal *terminal)
{
    sh_live_line_close(&terminal->line);
    if (terminal->has_prompt) {
        sh_prompt_close(&terminal->prompt);
    }
}

struct sh_capture_front sh_capture_terminal_get_front(struct sh_capture_terminal *terminal)
{
    return (struct sh_capture_front){.say = say,
                                     .ring = ring,
                                     .begin = begin,
                                     .shot = show_shot,
                                     .end = print_end,
                                     .idle = be_idle,
                                     .step = step,
                                     .context = terminal};
}
