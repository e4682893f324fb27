/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_SAY_H
#define SH_APP_SAY_H

#include "app/command.h"
#include "base/status.h"
#include "base/text.h"

/*
 * The program's two voices: data on standard output, words for people on standard error.
 */

/*
 * Prints the error as one line, "stringhand: where: what; what to do", and gives status back.
 * An error that does not say what to do gets a general advice by its status.
 * Test: tests/loop/test_bad_input.c.
 */
enum sh_exit sh_say_error(const struct sh_error *err, enum sh_exit status);

/*
 * Prints the error as above and goes on: for those who are told of each recording that cannot
 * be read, so that none is passed over in silence. context is not used.
 */
void sh_say_unread(void *context, const struct sh_error *failure);

/*
 * Prints the text on standard output and closes it. SH_EXIT_INPUT with a line where the text is
 * incomplete (memory) or could not be written (a full disk).
 */
enum sh_exit sh_say_text(struct sh_text *text);

/* Writes the text into a file in place of what was there, and closes it. Statuses as above. */
enum sh_exit sh_say_file(struct sh_text *text, const char *path);

/*
 * Says the first cautions of loads on standard error: beside rows of CSV, which have no room
 * for them. Test: tests/loop/test_cautions.c.
 */
void sh_say_cautions(void);

#endif
