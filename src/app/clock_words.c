/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/clock_words.h"

#include "report/utf8.h"

static const char *const signal_words[] = {"", " (one signal)", " (two signals)",
                                           " (three signals)"};

static bool is_alternating(const struct sh_round_format *format)
{
    return format->kind == SH_ROUND_FORMAT_ALTERNATING;
}

static void put_whose(struct sh_text *text,
                      const struct sh_round_format *format,
                      const struct sh_shooting_clock_view *view)
{
    if (is_alternating(format)) {
        sh_text_printf(text, ": %s, arrow %u of %u",
                       view->side == SH_SHOOTING_CLOCK_OWN ? "you" : "the other",
                       view->n_gone[view->side] + 1, format->n_arrows);
    } else if (format->n_archers > 1) {
        sh_text_printf(text, ": archer %u of %u", view->archer, format->n_archers);
    }
}

void sh_clock_words_put_state(struct sh_text *text,
                              const struct sh_round_format *format,
                              const struct sh_shooting_clock_view *view)
{
    switch (view->state) {
    case SH_SHOOTING_CLOCK_READY:
        sh_text_puts(text, "READY");
        break;
    case SH_SHOOTING_CLOCK_LINE_UP:
        sh_text_puts(text, "LINE UP, do not shoot");
        break;
    case SH_SHOOTING_CLOCK_SHOOTING:
        sh_text_puts(text, "SHOOT");
        put_whose(text, format, view);
        if (view->is_warning) {
            sh_text_printf(text, ", under %g s", format->warning_s);
        }
        break;
    case SH_SHOOTING_CLOCK_PAUSED:
        sh_text_puts(text, "HALTED, do not shoot");
        break;
    case SH_SHOOTING_CLOCK_OVER:
        sh_text_puts(text, "STOP");
        break;
    }
}

void sh_clock_words_put_left(struct sh_text *text, const struct sh_shooting_clock_view *view)
{
    switch (view->state) {
    case SH_SHOOTING_CLOCK_READY:
    case SH_SHOOTING_CLOCK_OVER:
        break;
    case SH_SHOOTING_CLOCK_LINE_UP:
        sh_text_printf(text, "line up %u s", view->seconds);
        break;
    case SH_SHOOTING_CLOCK_PAUSED:
        sh_text_printf(text, "halted %u s", view->seconds);
        break;
    case SH_SHOOTING_CLOCK_SHOOTING:
        if (view->seconds == 0) {
            sh_text_puts(text, "TIME IS UP");
        } else if (view->side == SH_SHOOTING_CLOCK_OTHER) {
            sh_text_printf(text, "other %u s", view->seconds);
        } else {
            sh_text_printf(text, "%u s left", view->seconds);
        }
        break;
    }
}

static void put_stop(struct sh_text *text, const struct sh_shooting_clock_event *event)
{
    sh_text_puts(text, event->is_time_out ? "Stop: the time is up" : "Stop");
}

void sh_clock_words_put_event(struct sh_text *text,
                              const struct sh_round_format *format,
                              const struct sh_shooting_clock_event *event,
                              bool has_signals)
{
    const bool is_own = event->side == SH_SHOOTING_CLOCK_OWN;
    switch (event->kind) {
    case SH_SHOOTING_CLOCK_EVENT_LINE_UP:
        sh_text_printf(text, "Come to the line: %g s, do not shoot yet", format->line_up_s);
        break;
    case SH_SHOOTING_CLOCK_EVENT_START:
    case SH_SHOOTING_CLOCK_EVENT_TURN:
        sh_text_printf(text, "Shoot: %g s", format->shooting_s);
        if (is_alternating(format)) {
            sh_text_puts(text, is_own ? " for you" : " for the other");
        }
        break;
    case SH_SHOOTING_CLOCK_EVENT_WARNING:
        sh_text_printf(text, "%g s are left", format->warning_s);
        break;
    case SH_SHOOTING_CLOCK_EVENT_HAND_OVER:
        sh_text_printf(text, "Hand over: archer %u of %u", event->archer, format->n_archers);
        break;
    case SH_SHOOTING_CLOCK_EVENT_PAUSE:
        sh_text_puts(text, "Halted: do not shoot");
        break;
    case SH_SHOOTING_CLOCK_EVENT_RESUME:
        sh_text_puts(text, "The clock goes on");
        break;
    case SH_SHOOTING_CLOCK_EVENT_TIME_OUT:
        sh_text_printf(text, "%s time for this arrow is up", is_own ? "Your" : "The other's");
        break;
    case SH_SHOOTING_CLOCK_EVENT_OVERRUN:
        sh_text_printf(text, "Released %.2f s after the time was up", event->late_s);
        break;
    case SH_SHOOTING_CLOCK_EVENT_STOP:
        put_stop(text, event);
        break;
    }
    const size_t n_words = sizeof signal_words / sizeof signal_words[0];
    sh_text_printf(text, "%s.",
                   has_signals && event->n_signals < n_words ? signal_words[event->n_signals]
                                                             : "");
}

void sh_clock_words_put_format(struct sh_text *text, const struct sh_round_format *format)
{
    sh_utf8_put(text, format->name, SH_UTF8_MASK_CONTROL);
    sh_text_printf(text, ": %u arrow%s", format->n_arrows, format->n_arrows == 1 ? "" : "s");
    if (is_alternating(format)) {
        sh_text_printf(text, " a side in turns, %g s each", format->shooting_s);
    } else {
        sh_text_printf(text, " in %g s", format->shooting_s);
    }
    if (format->n_archers > 1) {
        sh_text_printf(text, " by %u archers", format->n_archers);
    }
    if (format->line_up_s > 0.0) {
        sh_text_printf(text, ", %g s to come to the line", format->line_up_s);
    }
    if (format->warning_s > 0.0 && !is_alternating(format)) {
        sh_text_printf(text, ", warning at %g s", format->warning_s);
    }
}
