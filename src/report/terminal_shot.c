/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/terminal_shot.h"

#include <math.h>
#include <stdio.h>

#include "report/figure.h"
#include "report/figure_table.h"
#include "report/paragraph.h"
#include "report/terminal_view.h"

#define AROUND_S       0.5  /* drawn before the draw start and after its end */
#define CLOSE_BEFORE_S 1.1  /* before the click: what the trend is taken over, and a little */
#define CLOSE_AFTER_S  0.3  /* after the release */
#define SETTLED_S      0.35 /* after full draw creep begins to count */
#define MEAN_S         0.5
#define INDENT         5u

static const char letters[SH_EVENT_COUNT] = {
    [SH_EVENT_DRAW_START] = 'D', [SH_EVENT_FULL_DRAW] = 'F', [SH_EVENT_CLICKER] = 'C',
    [SH_EVENT_RELEASE] = 'R',    [SH_EVENT_LET_DOWN] = 'L',  [SH_EVENT_END] = 'E'};

/* The first known of some events; fallback where none is. */
static double
find_time(const struct sh_shot *shot, const enum sh_event *events, size_t n, double fallback_s)
{
    for (size_t i = 0; i < n; i++) {
        if (sh_quantity_is_known(&shot->event_s[events[i]])) {
            return shot->event_s[events[i]].value;
        }
    }
    return fallback_s;
}

/* First and last sample of any stream. */
static void find_samples(const struct sh_shot_view *view, double range_s[2])
{
    range_s[0] = (double)INFINITY;
    range_s[1] = -(double)INFINITY;
    for (size_t i = 0; i < view->n_streams; i++) {
        const struct sh_shot_stream *stream = &view->stream[i];
        if (stream->n_frames > 0) {
            range_s[0] = fmin(range_s[0], stream->time_s[0]);
            range_s[1] = fmax(range_s[1], stream->time_s[stream->n_frames - 1]);
        }
    }
}

static void
set_times(const struct sh_shot *shot, const double range_s[2], struct sh_terminal_shot *out)
{
    static const enum sh_event starts[] = {SH_EVENT_DRAW_START, SH_EVENT_FULL_DRAW};
    static const enum sh_event overs[] = {SH_EVENT_RELEASE, SH_EVENT_LET_DOWN, SH_EVENT_END};
    static const enum sh_event ends[] = {SH_EVENT_END, SH_EVENT_RELEASE, SH_EVENT_LET_DOWN};
    static const enum sh_event clicks[] = {SH_EVENT_CLICKER, SH_EVENT_RELEASE,
                                           SH_EVENT_LET_DOWN, SH_EVENT_END};
    out->over_s = find_time(shot, overs, 3, range_s[1]);
    out->whole_s[0] = fmax(range_s[0], find_time(shot, starts, 2, range_s[0]) - AROUND_S);
    out->whole_s[1] = fmin(range_s[1], find_time(shot, ends, 3, range_s[1]) + AROUND_S);
    out->close_s[0] = fmax(range_s[0], find_time(shot, clicks, 4, range_s[1]) - CLOSE_BEFORE_S);
    out->close_s[1] = fmin(range_s[1], out->over_s + CLOSE_AFTER_S);
}

/* The force of the hold, and its 500 ms mean where that fits between full draw and the end. */
static void take_hold(const struct sh_shot *shot,
                      const struct sh_terminal_source *force,
                      struct sh_terminal_shot *out)
{
    static const enum sh_event fulls[] = {SH_EVENT_FULL_DRAW};
    out->hold_s[0] = find_time(shot, fulls, 1, (double)NAN);
    out->hold_s[1] = out->over_s;
    out->n_means = 0;
    sh_terminal_curve_fill(&out->hold_force, force, out->hold_s[0], out->hold_s[1]);
    const double from_s = out->hold_s[0] + SETTLED_S;
    const double length_s = out->hold_s[1] - from_s - MEAN_S;
    for (size_t i = 0; i < SH_TERMINAL_SHOT_MEANS && length_s > 0.0; i++) {
        double begin_s = from_s + length_s * (double)i / (SH_TERMINAL_SHOT_MEANS - 1);
        out->mean_x[out->n_means] = begin_s + MEAN_S / 2.0;
        out->n_means += sh_terminal_source_find_mean(force, begin_s, begin_s + MEAN_S,
                                                     &out->mean_y[out->n_means])
                            ? 1
                            : 0;
    }
}

/* What else may show the clicker. */
static void take_clicker(const struct sh_shot_view *view, struct sh_terminal_shot *out)
{
    const struct sh_terminal_source contact =
        sh_terminal_source_get_channel(view, SH_ROLE_CLICKER_CONTACT);
    const struct sh_terminal_source sound = sh_terminal_source_get_channel(view, SH_ROLE_SOUND);
    sh_terminal_curve_fill(&out->close_contact, &contact, out->close_s[0], out->close_s[1]);
    sh_terminal_curve_fill(&out->close_sound, &sound, out->close_s[0], out->close_s[1]);
}

void sh_terminal_shot_take(const struct sh_shot *shot,
                           const struct sh_shot_view *view,
                           struct sh_terminal_shot *out)
{
    static const enum sh_finger fingers[] = {SH_FINGER_INDEX, SH_FINGER_MIDDLE, SH_FINGER_RING};
    double range_s[2];
    find_samples(view, range_s);
    set_times(shot, range_s, out);
    const struct sh_terminal_source force = sh_terminal_source_get_force(view);
    sh_terminal_curve_fill(&out->force, &force, out->whole_s[0], out->whole_s[1]);
    sh_terminal_curve_fill(&out->close_force, &force, out->close_s[0], out->close_s[1]);
    take_hold(shot, &force, out);
    for (size_t k = 0; k < 3; k++) {
        const struct sh_terminal_source finger =
            sh_terminal_source_get_finger(view, fingers[k]);
        sh_terminal_curve_fill(&out->finger[k], &finger, out->whole_s[0], out->over_s);
    }
    const struct sh_terminal_source acceleration = sh_terminal_source_get_acceleration(
        view, out->close_s[0], out->close_s[0] + CLOSE_BEFORE_S / 2.0);
    sh_terminal_curve_fill(&out->close_acceleration, &acceleration, out->close_s[0],
                           out->close_s[1]);
    take_clicker(view, out);
}

/* One page being written. */
struct page {
    const struct sh_shot_record *record;
    struct sh_text *text;
    size_t n_columns;
};

static void say(const struct page *page, const char *lead, const char *string)
{
    struct sh_paragraph paragraph;
    sh_paragraph_init(&paragraph, page->text, page->n_columns, lead, INDENT);
    sh_paragraph_put(&paragraph, string);
    sh_paragraph_end(&paragraph);
}

static void write_head(const struct page *page, const struct sh_analysis *analysis)
{
    struct sh_paragraph paragraph;
    char words[96];
    (void)snprintf(words, sizeof words, "Draw %u of %zu (%s), recording", page->record->shot.n,
                   analysis->n_shots, sh_shot_kind_name(page->record->shot.kind));
    sh_paragraph_init(&paragraph, page->text, page->n_columns, "", 2);
    sh_paragraph_put(&paragraph, words);
    sh_paragraph_put(&paragraph, analysis->recording);
    sh_paragraph_put(&paragraph, "by");
    sh_paragraph_put(&paragraph, analysis->athlete);
    sh_paragraph_end(&paragraph);
}

/* What an event rests on, behind its figure. */
static void format_origin(const struct sh_shot *shot, enum sh_event event, char words[96])
{
    words[0] = '\0';
    if (shot->is_corrected[event]) {
        (void)snprintf(words, 96, "corrected by a person");
    } else if (event == SH_EVENT_CLICKER && shot->clicker_sensor != SH_CLICKER_NONE) {
        (void)snprintf(words, 96, "by %s, probability %.3f",
                       sh_shot_clicker_sensor_name(shot->clicker_sensor),
                       shot->clicker_probability);
    }
}

static void write_events(const struct page *page)
{
    const struct sh_shot *shot = &page->record->shot;
    sh_text_puts(page->text, "\n");
    say(page, "", "Events (s on the recording's clock; 95 % intervals)");
    for (int i = 0; i < SH_EVENT_COUNT; i++) {
        const enum sh_event event = (enum sh_event)i;
        const struct sh_quantity *at = &shot->event_s[i];
        char figure[SH_FIGURE_BYTES];
        char origin[96];
        char lead[32];
        char words[SH_FIGURE_BYTES + 128];
        sh_figure_format(at, 1.0, figure);
        format_origin(shot, event, origin);
        (void)snprintf(lead, sizeof lead, "  %c  %-12s", letters[i],
                       sh_shot_event_title(event));
        (void)snprintf(words, sizeof words, "%s %s%s%s",
                       sh_quantity_is_known(at) ? figure : sh_quantity_why_text(at->why),
                       origin[0] != '\0' ? "(" : "", origin, origin[0] != '\0' ? ")" : "");
        say(page, lead, words);
    }
}

static void write_findings(const struct page *page)
{
    const struct sh_shot_record *record = page->record;
    sh_text_puts(page->text, "\nWhat stands out (95 % intervals)\n");
    for (size_t i = 0; i < record->n_findings; i++) {
        const struct sh_finding *finding = &record->findings[i];
        char words[64];
        struct sh_paragraph paragraph;
        sh_paragraph_init(&paragraph, page->text, page->n_columns, "  ", INDENT);
        (void)snprintf(words, sizeof words, "%s:", sh_code_title(finding->code));
        sh_paragraph_put(&paragraph, words);
        sh_paragraph_put(&paragraph, finding->text);
        if (isfinite(finding->threshold)) {
            (void)snprintf(words, sizeof words, "(threshold %.3g, %s)", finding->threshold,
                           sh_code_basis_name(finding->basis));
            sh_paragraph_put(&paragraph, words);
        }
        sh_paragraph_end(&paragraph);
    }
    if (record->n_findings == 0) {
        say(page, "  ", "Nothing is beyond its threshold and its own uncertainty.");
    }
}

static void write_quality(const struct page *page)
{
    bool is_begun = false;
    for (int i = 0; i < SH_CODE_QUALITY_COUNT; i++) {
        const enum sh_code_quality quality = (enum sh_code_quality)i;
        char words[128];
        if (page->record->quality[i]) {
            sh_text_puts(page->text, is_begun ? "" : "\nData\n");
            (void)snprintf(words, sizeof words, "%s: %s", sh_code_quality_name(quality),
                           sh_code_quality_title(quality));
            say(page, "  ", words);
            is_begun = true;
        }
    }
}

enum sh_status sh_terminal_shot_write(const struct sh_analysis *analysis,
                                      size_t i,
                                      struct sh_terminal_shot *shot,
                                      const struct sh_terminal_shot_config *config,
                                      struct sh_text *text)
{
    if (config->n_columns < SH_TERMINAL_SHOT_COLUMNS_MIN || i >= analysis->n_shots) {
        return SH_ERR_ARGUMENT;
    }
    const struct page page = {&analysis->shots[i], text, config->n_columns};
    struct sh_analysis alone = *analysis;
    alone.shots = &analysis->shots[i];
    alone.n_shots = 1;
    write_head(&page, analysis);
    write_events(&page);
    enum sh_status status = sh_terminal_view_draw(page.record, shot, config, text);
    if (status != SH_OK) {
        return status;
    }
    write_findings(&page);
    write_quality(&page);
    sh_figure_table_write(&alone, config->n_columns, text);
    sh_text_puts(text, "\n");
    struct sh_paragraph caution;
    sh_paragraph_init(&caution, text, config->n_columns, "", 0);
    sh_paragraph_put(&caution, "Not a medical device: limits, pain and return to shooting "
                               "belong to licensed practice.");
    sh_paragraph_end(&caution);
    return text->status;
}
