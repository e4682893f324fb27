/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/forget_dialogue.h"

#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "app/forget.h"
#include "app/say.h"

#define ANSWER_BYTES (SH_SESSION_NAME_BYTES + 8u)

/* Asks at the terminal; the line without its end, "" where there is none. */
static void ask(const char *question, char answer[ANSWER_BYTES])
{
    (void)fprintf(stderr, "%s ", question);
    (void)fflush(stderr);
    if (fgets(answer, ANSWER_BYTES, stdin) == NULL) {
        answer[0] = '\0';
        (void)fputs("\n", stderr);
    }
    answer[strcspn(answer, "\r\n")] = '\0';
}

static bool may_ask(void)
{
    return isatty(STDIN_FILENO) != 0;
}

static enum sh_status show(const struct sh_forget_dialogue *dialogue,
                           const struct sh_forget_plan *plan,
                           struct sh_error *err)
{
    struct sh_text text;
    sh_text_init(&text, 0);
    sh_forget_plan_format(plan, dialogue->athlete, &text);
    const enum sh_status status = text.status;
    if (status == SH_OK) {
        (void)fputs(text.data, stderr);
    } else {
        (void)sh_error_set(err, status, NULL, NULL, "out of memory");
    }
    sh_text_close(&text);
    return status;
}

/* The first question: *is_yes. */
static enum sh_status
ask_first(const struct sh_forget_dialogue *dialogue, bool *is_yes, struct sh_error *err)
{
    char answer[ANSWER_BYTES];
    *is_yes = dialogue->is_yes;
    if (*is_yes) {
        return SH_OK;
    }
    if (!may_ask()) {
        return sh_error_set(err, SH_ERR_ARGUMENT, dialogue->athlete,
                            "give --yes to hide, and --confirm NAME too to remove for good",
                            "nobody is here to be asked");
    }
    (void)fputs("Hidden, she appears in no list and no comparison, and nothing is removed.\n",
                stderr);
    ask("Hide? yes or no:", answer);
    *is_yes = strcmp(answer, "yes") == 0 || strcmp(answer, "y") == 0;
    return SH_OK;
}

/* The second: her name typed, nothing else. */
static bool ask_second(const struct sh_forget_dialogue *dialogue)
{
    char answer[ANSWER_BYTES];
    if (dialogue->confirm != NULL) {
        return strcmp(dialogue->confirm, dialogue->athlete) == 0;
    }
    if (dialogue->is_yes || !may_ask()) {
        return false;
    }
    (void)fputs("To remove all of this from the disk, for good, type the name;\n"
                "anything else leaves her hidden.\n",
                stderr);
    ask("Remove:", answer);
    const bool is_yes = strcmp(answer, dialogue->athlete) == 0;
    if (!is_yes) {
        (void)fputs("nothing was removed\n", stderr);
    }
    return is_yes;
}

static enum sh_exit remove_all(const struct sh_forget_dialogue *dialogue,
                               const struct sh_forget_plan *plan)
{
    struct sh_forget_result result;
    struct sh_error err = {0};
    const enum sh_status status =
        sh_forget_remove(dialogue->home, dialogue->athlete, plan, &result, &err);
    (void)fputs(result.failures.data != NULL ? result.failures.data : "", stderr);
    (void)fprintf(stderr, "%zu recording%s removed\n", result.n_removed,
                  result.n_removed == 1 ? "" : "s");
    const bool is_whole = result.n_failed == 0;
    if (status == SH_OK && !is_whole) {
        (void)sh_error_set(
            &err, SH_ERR_IO, dialogue->athlete, "mend what is said above, then do it again",
            "%zu of her recordings could not be removed: she stays hidden", result.n_failed);
    }
    sh_text_close(&result.failures);
    return status == SH_OK && is_whole ? SH_EXIT_DONE : sh_say_error(&err, SH_EXIT_INPUT);
}

static enum sh_exit hide(const struct sh_forget_dialogue *dialogue)
{
    struct sh_error err = {0};
    if (sh_forget_hide(dialogue->home, dialogue->athlete, &err) != SH_OK) {
        return sh_say_error(&err, SH_EXIT_INPUT);
    }
    (void)fprintf(stderr, "%s is hidden; 'stringhand history --unhide %s' takes it back\n",
                  dialogue->athlete, dialogue->athlete);
    return SH_EXIT_DONE;
}

enum sh_exit sh_forget_dialogue_run(const struct sh_forget_dialogue *dialogue)
{
    struct sh_forget_plan plan;
    struct sh_error err = {0};
    bool is_yes = false;
    enum sh_status status =
        sh_forget_plan_make(dialogue->list, dialogue->home, dialogue->athlete, &plan, &err);
    if (status == SH_OK) {
        status = show(dialogue, &plan, &err);
    }
    if (status == SH_OK) {
        status = ask_first(dialogue, &is_yes, &err);
    }
    enum sh_exit done = SH_EXIT_DONE;
    if (status != SH_OK) {
        done = sh_say_error(&err, SH_EXIT_INPUT);
    } else if (!is_yes) {
        (void)fputs("nothing was changed\n", stderr);
    } else {
        done = hide(dialogue);
        if (done == SH_EXIT_DONE && ask_second(dialogue)) {
            done = remove_all(dialogue, &plan);
        }
    }
    sh_forget_plan_close(&plan);
    return done;
}
