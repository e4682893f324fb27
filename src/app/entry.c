/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/entry.h"

#include <ctype.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "report/utf8.h"

#define SCORE_MAX   10.0
#define PAIN_MAX    10.0
#define SECONDS_MAX 3600.0
#define ARROWS_MAX  72.0

/* In a narrow terminal, too. */
static const char help_text[] = "Type, then Enter:\n"
                                "  9        score of the last arrow\n"
                                "  9 8 x    scores of an end\n"
                                "  n TEXT   a note\n"
                                "  c 120 6  clock: seconds, arrows\n"
                                "  c, h, s  clock: start, halt, stop\n"
                                "  c o, o   the other begins, has shot\n"
                                "  p 2      pain, 0 to 10, or:\n"
                                "           p before 2, p after 2\n"
                                "  a NAME   the next archer\n"
                                "  q        the end\n";

const char *sh_entry_get_help(void)
{
    return help_text;
}

static enum sh_status refuse(struct sh_error *err, const char *line, const char *todo)
{
    return sh_error_set(err, SH_ERR_FORMAT, NULL, todo, "'%s' is not understood", line);
}

static const char *skip_blanks(const char *at)
{
    while (isspace((unsigned char)*at)) {
        at++;
    }
    return at;
}

static bool is_word_end(char byte)
{
    return byte == '\0' || isspace((unsigned char)byte);
}

/* The first letter in lower case where it is a word of its own; else 0. */
static char find_letter(const char *at)
{
    if (at[0] == '\0' || !is_word_end(at[1])) {
        return '\0';
    }
    bool is_upper = at[0] >= 'A' && at[0] <= 'Z';
    return (char)(is_upper ? at[0] - 'A' + 'a' : at[0]);
}

/* A number from 0 to most that ends at a blank or the end; false, *at untouched, if none. */
static bool parse_number(const char **at, double most, double *out)
{
    char *end = NULL;
    double value = strtod(*at, &end);
    if (end == *at || !is_word_end(*end) || !(value >= 0.0 && value <= most)) {
        return false;
    }
    *out = value;
    *at = skip_blanks(end);
    return true;
}

static bool parse_score(const char **at, double *out)
{
    char letter = find_letter(*at);
    if (letter != 'x' && letter != 'm') {
        return parse_number(at, SCORE_MAX, out);
    }
    *out = letter == 'x' ? SCORE_MAX : 0.0;
    *at = skip_blanks(*at + 1);
    return true;
}

static enum sh_status parse_scores(const char *line, struct sh_entry *out, struct sh_error *err)
{
    const char *at = line;
    struct sh_mark *mark = &out->mark;
    while (*at != '\0') {
        if (mark->n_scores == SH_MARK_SCORES_MAX ||
            !parse_score(&at, &mark->scores[mark->n_scores])) {
            return refuse(err, line, "scores are 0 to 10, x or m");
        }
        mark->n_scores++;
    }
    mark->kind = mark->n_scores == 1 ? SH_MARK_ARROW : SH_MARK_END;
    if (mark->n_scores == 1) {
        mark->score = (struct sh_mark_number){true, mark->scores[0]};
        mark->n_scores = 0;
    }
    out->kind = SH_ENTRY_MARK;
    return SH_OK;
}

/* The clock's own keys: h, o, c alone and c o. */
static enum sh_status parse_clock_key(
    char letter, const char *line, const char *at, struct sh_entry *out, struct sh_error *err)
{
    if (letter == 'c') {
        out->clock = *at == '\0' ? SH_ENTRY_CLOCK_START : SH_ENTRY_CLOCK_START_OTHER;
    } else if (*at != '\0') {
        return refuse(err, line, letter == 'h' ? "type h alone" : "type o alone");
    } else {
        out->clock = letter == 'h' ? SH_ENTRY_CLOCK_HALT : SH_ENTRY_CLOCK_OTHER_SHOT;
    }
    out->kind = SH_ENTRY_CLOCK;
    return SH_OK;
}

static enum sh_status
parse_clock(const char *line, const char *at, struct sh_entry *out, struct sh_error *err)
{
    struct sh_mark *mark = &out->mark;
    if (*at == '\0' || (find_letter(at) == 'o' && *skip_blanks(at + 1) == '\0')) {
        return parse_clock_key('c', line, at, out, err);
    }
    mark->kind = SH_MARK_CLOCK;
    mark->seconds.is_given = parse_number(&at, SECONDS_MAX, &mark->seconds.value);
    mark->arrows.is_given = *at != '\0' && parse_number(&at, ARROWS_MAX, &mark->arrows.value);
    if (!mark->seconds.is_given || !(mark->seconds.value > 0.0) || *at != '\0') {
        return refuse(err, line, "type c SECONDS ARROWS, as c 120 6");
    }
    out->kind = SH_ENTRY_MARK;
    return SH_OK;
}

/* A word of parse_pain's; *at goes behind it. Both untouched where there is none. */
static void parse_when(const char **at, char when[SH_MARK_NAME_BYTES])
{
    static const char *const words[] = {"before", "during", "after"};
    size_t n_bytes = strcspn(*at, " \t");
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++) {
        if (strlen(words[i]) == n_bytes && strncmp(*at, words[i], n_bytes) == 0) {
            (void)snprintf(when, SH_MARK_NAME_BYTES, "%s", words[i]);
            *at = skip_blanks(*at + n_bytes);
            return;
        }
    }
}

static enum sh_status
parse_pain(const char *line, const char *at, struct sh_entry *out, struct sh_error *err)
{
    struct sh_mark *mark = &out->mark;
    mark->kind = SH_MARK_PAIN;
    (void)snprintf(mark->when, sizeof mark->when, "during");
    parse_when(&at, mark->when);
    mark->rating.is_given = parse_number(&at, PAIN_MAX, &mark->rating.value);
    if (!mark->rating.is_given || *at != '\0') {
        return refuse(err, line, "type p and 0 to 10, or p before 2, p after 2");
    }
    out->kind = SH_ENTRY_MARK;
    return SH_OK;
}

static enum sh_status parse_words(
    char letter, const char *line, const char *at, struct sh_entry *out, struct sh_error *err)
{
    char *to = letter == 'n' ? out->mark.text : out->athlete;
    size_t n_bytes = strlen(at);
    if (n_bytes == 0 || n_bytes >= SH_MARK_TEXT_BYTES) {
        return refuse(err, line,
                      letter == 'n' ? "type n and up to 255 bytes of text"
                                    : "type a and a name");
    }
    if (!sh_utf8_is_valid(at)) {
        return refuse(err, line, "write it in UTF-8");
    }
    memcpy(to, at, n_bytes + 1);
    out->mark.kind = SH_MARK_NOTE;
    out->kind = letter == 'n' ? SH_ENTRY_MARK : SH_ENTRY_ARCHER;
    return SH_OK;
}

/* A line that begins with a letter of its own. */
static enum sh_status parse_command(
    char letter, const char *line, const char *at, struct sh_entry *out, struct sh_error *err)
{
    switch (letter) {
    case 'n':
    case 'a':
        return parse_words(letter, line, at, out, err);
    case 'c':
        return parse_clock(line, at, out, err);
    case 'h':
    case 'o':
        return parse_clock_key(letter, line, at, out, err);
    case 'p':
        return parse_pain(line, at, out, err);
    case 's':
        out->kind = *at == '\0' ? SH_ENTRY_MARK : SH_ENTRY_NOTHING;
        out->mark.kind = SH_MARK_CLOCK_STOP;
        return *at == '\0' ? SH_OK : refuse(err, line, "type s alone");
    case 'q':
        out->kind = *at == '\0' ? SH_ENTRY_END : SH_ENTRY_NOTHING;
        return *at == '\0' ? SH_OK : refuse(err, line, "type q alone");
    default:
        return parse_scores(line, out, err);
    }
}

enum sh_status sh_entry_parse(const char *line, struct sh_entry *out, struct sh_error *err)
{
    *out = (struct sh_entry){0};
    const char *at = skip_blanks(line);
    if (*at == '\0') {
        return SH_OK;
    }
    char letter = isdigit((unsigned char)at[0]) != 0 ? '\0' : find_letter(at);
    enum sh_status status = parse_command(letter, at, skip_blanks(at + 1), out, err);
    if (status != SH_OK) {
        *out = (struct sh_entry){0};
    }
    return status;
}

static void format_mark(const struct sh_mark *mark, struct sh_text *text)
{
    switch (mark->kind) {
    case SH_MARK_ARROW:
        sh_text_printf(text, "score %g", mark->score.value);
        if (mark->shot.is_given) {
            sh_text_printf(text, " for shot %.0f", mark->shot.value);
        }
        break;
    case SH_MARK_END:
        sh_text_puts(text, "end:");
        for (size_t i = 0; i < mark->n_scores; i++) {
            sh_text_printf(text, " %g", mark->scores[i]);
        }
        break;
    case SH_MARK_CLOCK:
        sh_text_printf(text, "clock of %g s", mark->seconds.value);
        break;
    case SH_MARK_CLOCK_STOP:
        sh_text_puts(text, "clock stopped");
        break;
    case SH_MARK_PAIN:
        sh_text_printf(text, "pain %g. Stop on pain.", mark->rating.value);
        break;
    case SH_MARK_NOTE:
    case SH_MARK_OVERRUN:
    case SH_MARK_CORRECTION:
    case SH_MARK_LIMIT:
    case SH_MARK_LIMIT_REACHED:
    case SH_MARK_WARNING:
    case SH_MARK_OTHER:
        sh_text_puts(text, "note");
        break;
    }
}

bool sh_entry_is_of_clock(const struct sh_entry *entry)
{
    return entry->kind == SH_ENTRY_MARK &&
           (entry->mark.kind == SH_MARK_CLOCK || entry->mark.kind == SH_MARK_CLOCK_STOP);
}

void sh_entry_format(const struct sh_entry *entry, struct sh_text *text)
{
    if (entry->kind == SH_ENTRY_ARCHER) {
        sh_text_puts(text, "Now shooting: ");
        sh_utf8_put(text, entry->athlete, SH_UTF8_MASK_CONTROL);
        sh_text_puts(text, "\n");
    } else if (entry->kind == SH_ENTRY_MARK) {
        sh_text_puts(text, "Kept: ");
        format_mark(&entry->mark, text);
        sh_text_puts(text, "\n");
    }
}
