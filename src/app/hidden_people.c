/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/hidden_people.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "recording/person_json.h"

struct sh_hidden_people sh_hidden_people_open(const char *home)
{
    return (struct sh_hidden_people){.home = home};
}

void sh_hidden_people_close(struct sh_hidden_people *people)
{
    free(people->known);
    *people = (struct sh_hidden_people){0};
}

static enum sh_status
read_mark(const char *home, const char *athlete, bool *is_hidden, struct sh_error *err)
{
    struct sh_person person = {0};
    char path[SH_PERSON_JSON_PATH_BYTES];
    *is_hidden = false;
    if (sh_person_json_make_path(home, athlete, path, NULL) != SH_OK) {
        return SH_OK; /* there can be no file of such a name */
    }
    const enum sh_status status = sh_person_json_read(home, athlete, &person, NULL, err);
    *is_hidden = status != SH_OK || person.hidden_on[0] != '\0';
    sh_person_close(&person);
    return status;
}

enum sh_status sh_hidden_people_find(struct sh_hidden_people *people,
                                     const char *athlete,
                                     bool *is_hidden,
                                     struct sh_error *err)
{
    for (size_t i = 0; i < people->n; i++) {
        if (strcmp(people->known[i].name, athlete) == 0) {
            *is_hidden = people->known[i].is_hidden;
            return SH_OK;
        }
    }
    enum sh_status status = read_mark(people->home, athlete, is_hidden, err);
    if (status != SH_OK) {
        return status;
    }
    struct sh_hidden_person *grown =
        realloc(people->known, (people->n + 1) * sizeof *people->known);
    if (grown == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, athlete, NULL, "out of memory");
    }
    people->known = grown;
    struct sh_hidden_person *person = &grown[people->n++];
    person->is_hidden = *is_hidden;
    (void)snprintf(person->name, sizeof person->name, "%s", athlete);
    return SH_OK;
}

enum sh_status
sh_hidden_people_check(const char *home, const char *athlete, struct sh_error *err)
{
    bool is_hidden = false;
    const enum sh_status status = read_mark(home, athlete, &is_hidden, err);
    if (status != SH_OK || !is_hidden) {
        return status;
    }
    char todo[SH_ERROR_TODO_BYTES];
    (void)snprintf(todo, sizeof todo, "take it back with 'stringhand history --unhide %.100s'",
                   athlete);
    return sh_error_set(err, SH_ERR_NOT_FOUND, athlete, todo, "this athlete is hidden");
}
