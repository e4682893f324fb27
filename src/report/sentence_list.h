/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_REPORT_SENTENCE_LIST_H
#define SH_REPORT_SENTENCE_LIST_H

#include "recording/json_put.h"

/* Sentences on their way into a list of a JSON tree. */
struct sh_sentence_list {
    struct sh_json_put *put;
    json_t *list; /* borrowed from the tree */
};

/*
 * Appends a sentence; context is a list. What the sinks of all *_words_each call. put's status.
 * Test: tests/report/test_sentence_list.c.
 */
enum sh_status sh_sentence_list_take(void *context, const char *sentence);

#endif
