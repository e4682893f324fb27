/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/live_line.h"

#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <string.h>
#include <sys/ioctl.h>
#include <time.h>
#include <unistd.h>

#include "app/terminal_wrap.h"
#include "report/utf8.h"

#define BETWEEN_MS   100
#define MS_PER_S     1000
#define NS_PER_MS    1000000
#define COLUMNS      80u /* of a terminal that does not say */
#define BETWEEN      " | "
#define BEFORE_TYPED " > "
#define TYPED_MIN    12u   /* columns that go before other pieces */
#define PIECE_BYTES  1024u /* a name of which each byte is masked */
#define CONTINUES    0x80  /* a byte of UTF-8 that begins no character: 10xxxxxx */

/* In the order in which they stand. */
enum piece { ATHLETE, GONE, PHASE, GOAL, CLOCK, DRAWS, LOST, DAMAGED, N_PIECES };

/* The order in which they get their place, where not all fit. */
static const enum piece urgency[N_PIECES] = {PHASE, GONE, GOAL,    CLOCK,
                                             DRAWS, LOST, DAMAGED, ATHLETE};

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

static void put_phase(const struct sh_live_line_view *view, char to[PIECE_BYTES])
{
    const struct sh_segmenter_state *state = &view->state;
    static const char *const names[] = {[SH_SEGMENTER_REST] = "rest",
                                        [SH_SEGMENTER_DRAWING] = "draw",
                                        [SH_SEGMENTER_HOLD] = "HOLD"};
    if (state->phase == SH_SEGMENTER_UNKNOWN) {
        (void)snprintf(to, PIECE_BYTES, "%s",
                       view->is_idle ? "no sensor: choose one on the page" : "listening");
        return;
    }
    double force_n = rint(state->force_n) + 0.0; /* no minus before a zero */
    (void)snprintf(to, PIECE_BYTES, "%s %5.1f s %4.0f N", names[state->phase],
                   state->now_s - state->since_s, force_n);
}

static void put_masked(const char *string, char to[PIECE_BYTES])
{
    struct sh_text text;
    sh_text_init(&text, 0);
    sh_utf8_put(&text, string, SH_UTF8_MASK_CONTROL);
    (void)snprintf(to, PIECE_BYTES, "%s", text.n_bytes > 0 ? text.data : "");
    sh_text_close(&text);
}

static void make_pieces(const struct sh_live_line_view *view,
                        char pieces[N_PIECES][PIECE_BYTES])
{
    put_masked(view->athlete, pieces[ATHLETE]);
    put_phase(view, pieces[PHASE]);
    if (!view->is_idle) {
        (void)snprintf(pieces[DRAWS], PIECE_BYTES, "%u draw%s", view->state.n_shots,
                       view->state.n_shots == 1 ? "" : "s");
    }
    if (view->clock != NULL) {
        (void)snprintf(pieces[CLOCK], PIECE_BYTES, "%s", view->clock);
    }
    if (view->goal != NULL) {
        (void)snprintf(pieces[GOAL], PIECE_BYTES, "%s", view->goal);
    }
    if (view->is_pulled) {
        (void)snprintf(pieces[GONE], PIECE_BYTES, "SENSOR GONE");
    }
    if (view->counts.lost > 0) {
        (void)snprintf(pieces[LOST], PIECE_BYTES, "lost %" PRIu64, view->counts.lost);
    }
    if (view->counts.damaged > 0) {
        (void)snprintf(pieces[DAMAGED], PIECE_BYTES, "damaged %" PRIu64, view->counts.damaged);
    }
}

static size_t count_columns(const char *string)
{
    return sh_utf8_get_columns(string, strlen(string));
}

/* Empties the pieces that have no room; gives the columns of the others. */
static size_t choose_pieces(char pieces[N_PIECES][PIECE_BYTES], size_t n_columns)
{
    size_t n_used = 0;
    for (size_t i = 0; i < N_PIECES; i++) {
        char *piece = pieces[urgency[i]];
        size_t n = count_columns(piece) + (n_used > 0 ? strlen(BETWEEN) : 0);
        if (piece[0] != '\0' && n_used + n <= n_columns) {
            n_used += n;
        } else {
            piece[0] = '\0';
        }
    }
    return n_used;
}

/* The end of what is typed, as much of it as has room. */
static const char *find_end(const char *typed, size_t n_columns)
{
    while (count_columns(typed) > n_columns) {
        do {
            typed++;
        } while (((unsigned char)*typed & 0xC0) == CONTINUES);
    }
    return typed;
}

void sh_live_line_format(const struct sh_live_line_view *view,
                         size_t n_columns,
                         struct sh_text *text)
{
    char pieces[N_PIECES][PIECE_BYTES] = {0};
    char typed[PIECE_BYTES];
    const size_t n_before = strlen(BEFORE_TYPED);
    make_pieces(view, pieces);
    put_masked(view->typed, typed);
    size_t n_typed = count_columns(typed);
    size_t n_kept = n_before + (n_typed < TYPED_MIN ? n_typed : TYPED_MIN);
    size_t n_used = choose_pieces(pieces, n_columns > n_kept ? n_columns - n_kept : 0);
    const char *between = "";
    for (size_t i = 0; i < N_PIECES; i++) {
        if (pieces[i][0] != '\0') {
            sh_text_printf(text, "%s%s", between, pieces[i]);
            between = BETWEEN;
        }
    }
    if (n_used + n_before <= n_columns) {
        sh_text_printf(text, "%s%s", BEFORE_TYPED,
                       find_end(typed, n_columns - n_used - n_before));
    }
}

/* Without the last column, in which some terminals already begin the next line. */
static size_t find_columns(void)
{
    struct winsize size = {0};
    bool is_known = ioctl(STDERR_FILENO, TIOCGWINSZ, &size) == 0 && size.ws_col > 0;
    return (is_known ? size.ws_col : COLUMNS) - 1u;
}

void sh_live_line_set(struct sh_live_line *line, const struct sh_live_line_view *view)
{
    int64_t time_ms = now_ms();
    if (!line->is_terminal || time_ms - line->shown_ms < BETWEEN_MS) {
        return;
    }
    struct sh_text text;
    sh_text_init(&text, 0);
    sh_live_line_format(view, find_columns(), &text);
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
    struct sh_text wrapped;
    sh_live_line_close(line);
    sh_text_init(&wrapped, 0);
    if (line->is_terminal) {
        sh_terminal_wrap(text, find_columns(), &wrapped);
    }
    const bool is_wrapped = wrapped.status == SH_OK && wrapped.n_bytes > 0;
    (void)fputs(is_wrapped ? wrapped.data : text, stderr);
    sh_text_close(&wrapped);
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
