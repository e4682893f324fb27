/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/live_line.h"

#include <inttypes.h>
#include <stdio.h>
#include <time.h>
#include <unistd.h>

#define BETWEEN_MS 100
#define MS_PER_S   1000
#define NS_PER_MS  1000000

static int64_t now_ms(void)
{
    struct timespec now = {0};
    (void)clock_gettime(CLOCK_MONOTONIC, &now);
    return (int64_t)now.tv_sec * MS_PER_S + now.tv_nsec / NS_PER_MS;
}

void sh_live_line_init(struct sh_live_line *line)
{
    *line = (struct sh_live_line){.is_terminal = isatty(STDERR_FILENO) != 0};
}

static void put_phase(const struct sh_segmenter_state *state, struct sh_text *text)
{
    double for_s = state->now_s - state->since_s;
    switch (state->phase) {
    case SH_SEGMENTER_UNKNOWN:
        sh_text_puts(text, "listening");
        return;
    case SH_SEGMENTER_REST:
        sh_text_printf(text, "rest %6.1f s %7.1f N", for_s, state->force_n);
        return;
    case SH_SEGMENTER_DRAWING:
        sh_text_printf(text, "draw %6.1f s %7.1f N", for_s, state->force_n);
        return;
    case SH_SEGMENTER_HOLD:
        sh_text_printf(text, "HOLD %6.1f s %7.1f N", for_s, state->force_n);
        return;
    }
}

void sh_live_line_format(const struct sh_live_line_view *view, struct sh_text *text)
{
    if (view->athlete[0] != '\0') {
        sh_text_printf(text, "%s | ", view->athlete);
    }
    put_phase(&view->state, text);
    sh_text_printf(text, " | draws %u", view->state.n_shots);
    if (view->counts.lost + view->counts.damaged > 0) {
        sh_text_printf(text, " | lost %" PRIu64 " damaged %" PRIu64, view->counts.lost,
                       view->counts.damaged);
    }
    if (view->is_pulled) {
        sh_text_puts(text, " | SENSOR GONE, waiting for it");
    }
    sh_text_printf(text, " > %s", view->typed);
}

void sh_live_line_set(struct sh_live_line *line, const struct sh_live_line_view *view)
{
    int64_t time_ms = now_ms();
    if (!line->is_terminal || time_ms - line->shown_ms < BETWEEN_MS) {
        return;
    }
    struct sh_text text;
    sh_text_init(&text, 0);
    sh_live_line_format(view, &text);
    if (text.status == SH_OK) {
        (void)fprintf(stderr, "\r%s\x1b[K", text.data);
        (void)fflush(stderr);
        line->is_shown = true;
        line->shown_ms = time_ms;
    }
    sh_text_close(&text);
}

void sh_live_line_print(struct sh_live_line *line, const char *text)
{
    sh_live_line_close(line);
    (void)fputs(text, stderr);
    (void)fflush(stderr);
    line->shown_ms = 0;
}

void sh_live_line_close(struct sh_live_line *line)
{
    if (line->is_shown) {
        (void)fputs("\r\x1b[K", stderr);
        line->is_shown = false;
    }
}
