/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/hold_goal.h"

#include <stdio.h>

#include "app/date_option.h"
#include "app/goal_entry.h"
#include "base/day.h"
#include "measure/catalog.h"
#include "recording/person_json.h"

struct sh_hold_goal sh_hold_goal_read(const char *home, const char *athlete)
{
    struct sh_hold_goal goal = {.is_set = false};
    struct sh_person person = {0};
    char key[SH_CATALOG_KEY_BYTES];
    sh_catalog_key(SH_MEASURE_HOLD_TIME, SH_CATALOG_VALUE, key);
    if (athlete[0] == '\0' ||
        sh_person_json_read(home, athlete, &person, NULL, NULL) != SH_OK) {
        return goal;
    }
    const struct sh_person_goal *found = sh_person_find_goal(&person, key);
    if (found != NULL) {
        goal.is_set = true;
        goal.band = (struct sh_goal_band){found->least, found->most};
        (void)snprintf(goal.set_by, sizeof goal.set_by, "%s", found->set_by);
    }
    sh_person_close(&person);
    return goal;
}

enum sh_status sh_hold_goal_write(const char *home,
                                  const char *athlete,
                                  const struct sh_hold_goal *goal,
                                  struct sh_error *err)
{
    struct sh_goal_entry entry = {.kind =
                                      goal->is_set ? SH_GOAL_ENTRY_SET : SH_GOAL_ENTRY_CLEAR,
                                  .day = sh_date_option_get_today()};
    if (athlete[0] == '\0') {
        return sh_error_set(err, SH_ERR_ARGUMENT, "goal", "say who shoots",
                            "a goal belongs to a person");
    }
    if (goal->is_set) {
        const struct sh_goal_band *band = &goal->band;
        if (!(band->least_s > 0.0 && band->least_s < band->most_s &&
              band->most_s <= SH_HOLD_GOAL_MAX_S)) {
            return sh_error_set(err, SH_ERR_ARGUMENT, "goal",
                                "give seconds from and to, up to 60", "this is no band");
        }
        entry.goal.least = band->least_s;
        entry.goal.most = band->most_s;
        (void)snprintf(entry.goal.basis, sizeof entry.goal.basis, "person");
        (void)snprintf(entry.goal.set_by, sizeof entry.goal.set_by, "%s", goal->set_by);
        sh_catalog_key(SH_MEASURE_HOLD_TIME, SH_CATALOG_VALUE, entry.goal.what);
        sh_day_format(entry.day, entry.goal.set_on);
    }
    const struct sh_person_file_change change = sh_goal_entry_make_change(&entry);
    return sh_person_file_edit(home, athlete, &change, err);
}
