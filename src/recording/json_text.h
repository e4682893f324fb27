/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_RECORDING_JSON_TEXT_H
#define SH_RECORDING_JSON_TEXT_H

#include <jansson.h>

#include "base/text.h"

/*
 * Appends a JSON tree as people can read it: lists and objects that fit a line of 96 bytes
 * stand on one line, others have one element a line, indented by two blanks; keys in the order
 * they were set; each real with the fewest digits that give the same double back (jansson's own
 * 17 digits would turn 0.0125 into 0.012500000000000001). No line break at the end.
 * The tree stays as it is (jansson walks no const object). Failures (SH_ERR_MEMORY,
 * SH_ERR_FULL) are kept in text->status. Cost: linear in the text. Any thread. Test:
 * tests/recording/test_json_text.c.
 */
void sh_json_text_write(struct sh_text *text, json_t *value);

#endif
