/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/markup.h"

#include <ctype.h>
#include <stdbool.h>
#include <string.h>

#include "support/cmocka_all.h"

#define DEPTH_MAX 64
#define TAG_BYTES 32
#define NAMES_MAX 16

/* Where a check stands: open tags, and the text that is left. */
struct markup {
    const char *at;
    size_t depth;
    char open[DEPTH_MAX][TAG_BYTES];
};

static bool is_name(char c)
{
    return isalnum((unsigned char)c) || c == '-' || c == ':' || c == '_';
}

static void take_name(struct markup *markup, char name[TAG_BYTES])
{
    size_t n = 0;
    while (is_name(*markup->at) && n + 1 < TAG_BYTES) {
        name[n++] = *markup->at++;
    }
    name[n] = '\0';
    if (n == 0) {
        fail_msg("a name is missing at: %.60s", markup->at);
    }
}

static void take(struct markup *markup, char expected)
{
    if (*markup->at != expected) {
        fail_msg("'%c' is missing at: %.60s", expected, markup->at);
    }
    markup->at++;
}

static void take_entity(struct markup *markup)
{
    static const char *const known[] = {"&amp;", "&lt;", "&gt;", "&quot;", "&#39;", "&apos;"};
    for (size_t i = 0; i < sizeof known / sizeof known[0]; i++) {
        if (strncmp(markup->at, known[i], strlen(known[i])) == 0) {
            markup->at += strlen(known[i]);
            return;
        }
    }
    fail_msg("a bare & at: %.60s", markup->at);
}

static void take_attributes(struct markup *markup)
{
    char names[NAMES_MAX][TAG_BYTES];
    size_t n_names = 0;
    while (*markup->at == ' ') {
        markup->at++;
        assert_true(n_names < NAMES_MAX);
        take_name(markup, names[n_names]);
        for (size_t i = 0; i < n_names; i++) {
            assert_string_not_equal(names[i], names[n_names]);
        }
        n_names++;
        take(markup, '=');
        take(markup, '"');
        while (*markup->at != '"') {
            assert_true(*markup->at != '\0' && *markup->at != '<');
            if (*markup->at == '&') {
                take_entity(markup);
            } else {
                markup->at++;
            }
        }
        markup->at++;
    }
}

static void take_tag(struct markup *markup)
{
    char name[TAG_BYTES];
    take(markup, '<');
    if (*markup->at == '/') {
        markup->at++;
        take_name(markup, name);
        take(markup, '>');
        assert_true(markup->depth > 0);
        assert_string_equal(name, markup->open[--markup->depth]);
        return;
    }
    assert_true(markup->depth < DEPTH_MAX);
    take_name(markup, markup->open[markup->depth]);
    take_attributes(markup);
    if (*markup->at == '/') {
        markup->at++;
    } else {
        markup->depth++;
    }
    take(markup, '>');
}

void markup_check(const char *text)
{
    static const char doctype[] = "<!DOCTYPE html>";
    struct markup markup = {.at = text};
    if (strncmp(text, doctype, sizeof doctype - 1) == 0) {
        markup.at += sizeof doctype - 1;
    }
    while (*markup.at != '\0') {
        if (*markup.at == '<') {
            take_tag(&markup);
        } else if (*markup.at == '&') {
            take_entity(&markup);
        } else {
            markup.at++;
        }
    }
    if (markup.depth != 0) {
        fail_msg("<%s> is not closed", markup.open[markup.depth - 1]);
    }
}

size_t markup_count(const char *text, const char *piece)
{
    size_t n = 0;
    for (const char *at = strstr(text, piece); at != NULL; at = strstr(at + 1, piece)) {
        n++;
    }
    return n;
}

void markup_check_has(const char *text, const char *piece)
{
    if (strstr(text, piece) == NULL) {
        fail_msg("'%s' is not in\n%s", piece, text);
    }
}
