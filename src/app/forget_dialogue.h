/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_FORGET_DIALOGUE_H
#define SH_APP_FORGET_DIALOGUE_H

#include <stdbool.h>

#include "app/command.h"
#include "app/recording_list.h"

/*
 * `history --forget`: shows what there is of an athlete, asks on standard error whether to hide
 * her, then whether to remove all of it for good, which takes her name typed. What is answered
 * on the command line is not asked; where nobody is at a terminal and it is not answered there,
 * nothing is done. Test: tests/loop/test_forget.c.
 */
struct sh_forget_dialogue {
    const char *home;
    const char *athlete;
    const struct sh_recording_list *list; /* settled: where her recordings may be */
    bool is_yes;                          /* the first question is answered */
    const char *confirm;                  /* the answer to the second; NULL: none */
};

/* Runs it and says what came of it: the exit status. Done is also when the answer was no. */
enum sh_exit sh_forget_dialogue_run(const struct sh_forget_dialogue *dialogue);

#endif
