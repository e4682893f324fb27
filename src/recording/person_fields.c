/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "recording/person_fields.h"

#include <string.h>

#include "base/day.h"
#include "metrology/channel.h"
#include "recording/json_field.h"

#define COUNT(list) (sizeof(list) / sizeof((list)[0]))
#define RATING_MAX  10.0

/* key and member of one name */
#define FIELD(record, name, type, rule, is_needed)                                             \
    {                                                                                          \
#name, offsetof(struct record, name), sizeof(((struct record *)0)->name), type, rule,  \
            is_needed, NULL                                                                    \
    }
#define TEXT(record, name) FIELD(record, name, SH_JSON_FIELD_TEXT, SH_JSON_FIELD_ANY, false)
#define NEED(record, name) FIELD(record, name, SH_JSON_FIELD_TEXT, SH_JSON_FIELD_ANY, true)
#define DATE(record, name, is_needed)                                                          \
    FIELD(record, name, SH_JSON_FIELD_DATE, SH_JSON_FIELD_ANY, is_needed)
#define GIVEN(record, name, rule) FIELD(record, name, SH_JSON_FIELD_GIVEN, rule, false)

static const struct sh_json_field person_fields[] = {
    DATE(sh_person, hidden_on, false),
};

static const struct sh_json_field limit_fields[] = {
    NEED(sh_person_limit, what),
    TEXT(sh_person_limit, finger),
    NEED(sh_person_limit, per),
    GIVEN(sh_person_limit, most, SH_JSON_FIELD_FROM_0),
    GIVEN(sh_person_limit, least, SH_JSON_FIELD_FROM_0),
    GIVEN(sh_person_limit, weekly_step, SH_JSON_FIELD_NOT_0),
    TEXT(sh_person_limit, set_by),
    DATE(sh_person_limit, set_on, false),
    DATE(sh_person_limit, from, false),
    DATE(sh_person_limit, until, false),
};

static const struct sh_json_field confirmation_fields[] = {
    DATE(sh_person_confirmation, on, true),
    TEXT(sh_person_confirmation, by),
};

static const struct sh_json_field rest_fields[] = {
    DATE(sh_person_rest, date, true),
};

static const struct sh_json_field draws_fields[] = {
    DATE(sh_person_draws, date, true),
    FIELD(sh_person_draws, draws, SH_JSON_FIELD_COUNT, SH_JSON_FIELD_ANY, true),
    GIVEN(sh_person_draws, draw_weight_n, SH_JSON_FIELD_ABOVE_0),
};

static const struct sh_json_field rating_fields[] = {
    DATE(sh_person_rating, date, true),
    NEED(sh_person_rating, when),
    FIELD(sh_person_rating, rating, SH_JSON_FIELD_NUMBER, SH_JSON_FIELD_FROM_0, true),
};

static const struct sh_json_field goal_fields[] = {
    NEED(sh_person_goal, what),
    FIELD(sh_person_goal, least, SH_JSON_FIELD_NUMBER, SH_JSON_FIELD_ABOVE_0, true),
    FIELD(sh_person_goal, most, SH_JSON_FIELD_NUMBER, SH_JSON_FIELD_ABOVE_0, true),
    NEED(sh_person_goal, basis),
    FIELD(sh_person_goal, arrows, SH_JSON_FIELD_COUNT, SH_JSON_FIELD_ANY, false),
    TEXT(sh_person_goal, set_by),
    DATE(sh_person_goal, set_on, true),
    DATE(sh_person_goal, ended_on, false),
};

/* One list of a person: where it lies in the struct, how an entry is read. */
struct list {
    const char *key;
    size_t items_offset; /* of the pointer to its entries, each with kept as first member */
    size_t n_offset;     /* of their number */
    size_t item_bytes;
    const struct sh_json_field *fields;
    size_t n_fields;
    void (*check)(struct sh_json_cursor *cursor, const void *item);
};

static void check_day(struct sh_json_cursor *cursor, const char *key, const char *date)
{
    int day = 0;
    if (date[0] != '\0' && !sh_day_parse(date, &day)) {
        sh_json_cursor_fail(cursor, SH_ERR_FORMAT, key, "is no day of the calendar", NULL);
    }
}

static bool is_one_of(const char *word, const char *a, const char *b, const char *c)
{
    return strcmp(word, a) == 0 || strcmp(word, b) == 0 || strcmp(word, c) == 0;
}

static void check_limit(struct sh_json_cursor *cursor, const void *item)
{
    const struct sh_person_limit *limit = item;
    enum sh_finger finger = SH_FINGER_NONE;
    check_day(cursor, "set_on", limit->set_on);
    check_day(cursor, "from", limit->from);
    check_day(cursor, "until", limit->until);
    sh_json_cursor_need(cursor, limit->most.is_given || limit->least.is_given, "most");
    if (!is_one_of(limit->per, "shot", "session", "day")) {
        sh_json_cursor_fail(cursor, SH_ERR_FORMAT, "per", "is no span of a limit",
                            "write shot, session or day");
    }
    if (limit->finger[0] != '\0' && !sh_channel_finger_find(limit->finger, &finger)) {
        sh_json_cursor_fail(cursor, SH_ERR_FORMAT, "finger", "is no finger",
                            "write index, middle or ring");
    }
    if (limit->weekly_step.is_given && limit->from[0] == '\0') {
        sh_json_cursor_fail(cursor, SH_ERR_FORMAT, "from", "is missing beside weekly_step",
                            "say from which day the weeks count");
    }
}

static void check_confirmation(struct sh_json_cursor *cursor, const void *item)
{
    const struct sh_person_confirmation *confirmation = item;
    check_day(cursor, "on", confirmation->on);
}

static void check_rest(struct sh_json_cursor *cursor, const void *item)
{
    const struct sh_person_rest *rest = item;
    check_day(cursor, "date", rest->date);
}

static void check_draws(struct sh_json_cursor *cursor, const void *item)
{
    const struct sh_person_draws *draws = item;
    check_day(cursor, "date", draws->date);
}

static void check_rating(struct sh_json_cursor *cursor, const void *item)
{
    const struct sh_person_rating *rating = item;
    check_day(cursor, "date", rating->date);
    if (!is_one_of(rating->when, "before", "during", "after")) {
        sh_json_cursor_fail(cursor, SH_ERR_FORMAT, "when", "is no time of a rating",
                            "write before, during or after");
    }
    if (!(rating->rating <= RATING_MAX)) {
        sh_json_cursor_fail(cursor, SH_ERR_FORMAT, "rating", "is over 10", NULL);
    }
}

static void check_goal(struct sh_json_cursor *cursor, const void *item)
{
    const struct sh_person_goal *goal = item;
    check_day(cursor, "set_on", goal->set_on);
    check_day(cursor, "ended_on", goal->ended_on);
    if (!(goal->least < goal->most)) {
        sh_json_cursor_fail(cursor, SH_ERR_FORMAT, "most", "is not above least", NULL);
    }
}

#define LIST(key, items, n, record, fields, check)                                             \
    {                                                                                          \
        key, offsetof(struct sh_person, items), offsetof(struct sh_person, n),                 \
            sizeof(struct record), fields, COUNT(fields), check                                \
    }

static const struct list lists[] = {
    LIST("limits", limits, n_limits, sh_person_limit, limit_fields, check_limit),
    LIST("confirmations",
         confirmations,
         n_confirmations,
         sh_person_confirmation,
         confirmation_fields,
         check_confirmation),
    LIST("rest", rests, n_rests, sh_person_rest, rest_fields, check_rest),
    LIST("draws", draws, n_draws, sh_person_draws, draws_fields, check_draws),
    LIST("ratings", ratings, n_ratings, sh_person_rating, rating_fields, check_rating),
    LIST("goals", goals, n_goals, sh_person_goal, goal_fields, check_goal),
};

static void *get_items(const struct sh_person *person, const struct list *list)
{
    void *items = NULL;
    memcpy(&items, (const char *)person + list->items_offset, sizeof items);
    return items;
}

static size_t get_n(const struct sh_person *person, const struct list *list)
{
    size_t n = 0;
    memcpy(&n, (const char *)person + list->n_offset, sizeof n);
    return n;
}

/* Room for one more entry behind the last, all zero, counted; NULL after a failure. */
static char *
add_item(struct sh_json_cursor *cursor, struct sh_person *person, const struct list *list)
{
    void *items = get_items(person, list);
    size_t n = get_n(person, list);
    enum sh_status status = sh_person_grow(&items, n, list->item_bytes);
    if (status != SH_OK) {
        sh_json_cursor_fail(cursor, status, NULL, sh_status_text(status), NULL);
        return NULL;
    }
    char *item = (char *)items + n * list->item_bytes;
    memset(item, 0, list->item_bytes);
    n++;
    memcpy((char *)person + list->items_offset, &items, sizeof items);
    memcpy((char *)person + list->n_offset, &n, sizeof n);
    return item;
}

static void parse_entry(struct sh_json_cursor *cursor,
                        const json_t *entry,
                        const struct list *list,
                        struct sh_person *person)
{
    if (!json_is_object(entry)) {
        sh_json_cursor_fail(cursor, SH_ERR_FORMAT, NULL, "is not an object", NULL);
        return;
    }
    char *item = add_item(cursor, person, list);
    if (item == NULL) {
        return;
    }
    size_t kept = get_n(person, list); /* its place, from 1 on */
    memcpy(item, &kept, sizeof kept);
    sh_json_field_parse(cursor, entry, list->fields, list->n_fields, item);
    list->check(cursor, item);
}

static void parse_list(struct sh_json_cursor *cursor,
                       const json_t *root,
                       const struct list *list,
                       struct sh_person *person)
{
    const json_t *array = NULL;
    if (!sh_json_cursor_array(cursor, root, list->key, &array)) {
        return;
    }
    size_t outside = sh_json_cursor_enter(cursor, list->key);
    for (size_t i = 0; i < json_array_size(array) && cursor->status == SH_OK; i++) {
        size_t before = sh_json_cursor_enter_index(cursor, i);
        parse_entry(cursor, json_array_get(array, i), list, person);
        sh_json_cursor_leave(cursor, before);
    }
    sh_json_cursor_leave(cursor, outside);
}

void sh_person_fields_parse(struct sh_json_cursor *cursor,
                            const json_t *root,
                            struct sh_person *person)
{
    sh_json_field_parse(cursor, root, person_fields, COUNT(person_fields), person);
    check_day(cursor, "hidden_on", person->hidden_on);
    for (size_t i = 0; i < COUNT(lists); i++) {
        parse_list(cursor, root, &lists[i], person);
    }
}

/* The object an entry is written into, given: a copy of what it was read from, or a new one. */
static json_t *take_entry(struct sh_json_put *put, const json_t *old, const char *item)
{
    size_t kept = 0;
    memcpy(&kept, item, sizeof kept);
    if (kept == 0) {
        return json_object();
    }
    const json_t *entry = json_array_get(old, kept - 1);
    if (entry == NULL) {
        sh_json_put_fail(put, SH_ERR_ARGUMENT, "kept");
        return NULL;
    }
    return json_deep_copy(entry);
}

static void format_list(struct sh_json_put *put,
                        json_t *root,
                        const struct list *list,
                        const struct sh_person *person)
{
    const json_t *old = json_object_get(root, list->key);
    const char *items = get_items(person, list);
    size_t n = get_n(person, list);
    if (n == 0 && old == NULL) {
        return;
    }
    json_t *array = json_array();
    for (size_t i = 0; i < n && put->status == SH_OK; i++) {
        const char *item = items + i * list->item_bytes;
        json_t *object = take_entry(put, old, item);
        sh_json_field_format(put, object, list->fields, list->n_fields, item);
        if (json_array_append_new(array, object) != 0) {
            sh_json_put_fail(put, SH_ERR_MEMORY, list->key);
        }
    }
    sh_json_put_value(put, root, list->key, array);
}

void sh_person_fields_format(struct sh_json_put *put,
                             json_t *root,
                             const struct sh_person *person)
{
    sh_json_field_format(put, root, person_fields, COUNT(person_fields), person);
    for (size_t i = 0; i < COUNT(lists); i++) {
        format_list(put, root, &lists[i], person);
    }
}
