/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/team_json.h"

#include <jansson.h>

#include "recording/json_put.h"
#include "report/sentence_list.h"
#include "report/shot_json.h"
#include "report/team_words.h"

#define FORMAT_NAME    "stringhand-team"
#define FORMAT_VERSION 1

static void put_figure(struct sh_json_put *put,
                       json_t *parent,
                       const char *key,
                       const struct sh_team_chance_figure *figure)
{
    json_t *object = sh_json_put_object(put, parent, key);
    sh_json_put_number(put, object, "value", figure->value);
    sh_json_put_number(put, object, "lo", figure->lo);
    sh_json_put_number(put, object, "hi", figure->hi);
}

static void put_name(struct sh_json_put *put,
                     json_t *object,
                     const char *key,
                     const struct sh_team_sheet *sheet,
                     size_t archer)
{
    sh_json_put_value(put, object, key, sh_shot_json_make_string(sheet->archers[archer].name));
}

static const char *get_source(enum sh_team_hand_over_source source)
{
    static const char *const names[] = {
        [SH_TEAM_HAND_OVER_ASSUMED] = "assumed",
        [SH_TEAM_HAND_OVER_GIVEN] = "given",
        [SH_TEAM_HAND_OVER_TEAM] = "team",
        [SH_TEAM_HAND_OVER_OWN] = "own",
    };
    return names[source];
}

static void
put_archer(struct sh_json_put *put, json_t *list, const struct sh_team_sheet *sheet, size_t a)
{
    json_t *object = sh_json_put_object_at(put, list, a);
    const struct sh_team_sheet_archer *archer = &sheet->archers[a];
    const struct sh_team_chance_archer *takes = &sheet->chances[0].archers[a];
    const struct sh_team_hand_over *hand_over = &sheet->chances[0].plan.archers[a].hand_over;
    put_name(put, object, "name", sheet, a);
    sh_json_put_count(put, object, "recordings", archer->n_recordings);
    sh_json_put_count(put, object, "ends", archer->count.n_timed_ends);
    sh_json_put_count(put, object, "ends_free", archer->count.n_free_ends);
    sh_json_put_count(put, object, "ends_left_out", archer->n_dropped);
    sh_json_put_count(put, object, "arrows", archer->count.n_arrows);
    sh_json_put_count(put, object, "arrows_unknown", archer->n_unknown);
    sh_json_put_count(put, object, "let_downs", archer->count.n_let_downs);
    sh_json_put_number(put, object, "first_after_start_s", takes->first_s[SH_TEAM_FIRST_START]);
    sh_json_put_number(put, object, "first_after_hand_over_s",
                       takes->first_s[SH_TEAM_FIRST_HAND_OVER]);
    sh_json_put_number(put, object, "further_s", takes->next_s);
    sh_json_put_number(put, object, "let_downs_s", takes->let_downs_s);
    sh_json_put_number(put, object, "hand_over_s", takes->hand_over_s);
    sh_json_put_text(put, object, "hand_over_from", get_source(hand_over->source));
    sh_json_put_count(put, object, "hand_overs_seen", hand_over->n_seen);
}

static void put_order(struct sh_json_put *put,
                      json_t *object,
                      const struct sh_team_sheet *sheet,
                      const struct sh_team_chance *chance,
                      const struct sh_team_chance_order *order)
{
    json_t *names = sh_json_put_list(put, object, "archers");
    for (size_t i = 0; i < sheet->n_archers; i++) {
        if (json_array_append_new(
                names, sh_shot_json_make_string(sheet->archers[order->order.archer[i]].name)) !=
            0) {
            sh_json_put_fail(put, SH_ERR_MEMORY, "archers");
        }
    }
    put_figure(put, object, "chance", &order->chance);
    sh_json_put_number(put, object, "chance_simulation_u", order->chance_u);
    put_figure(put, object, "left_s", &order->left_s);
    sh_json_put_number(put, object, "left_in_19_of_20_s", order->low_s);
    json_t *turns = sh_json_put_list(put, object, "turns");
    for (size_t turn = 0; turn < sh_team_plan_get_turns(&chance->plan); turn++) {
        json_t *at = sh_json_put_object_at(put, turns, turn);
        put_name(put, at, "archer", sheet, order->turns[turn].archer);
        sh_json_put_number(put, at, "begins_left_s", order->turns[turn].begins_s);
        sh_json_put_number(put, at, "ends_left_s", order->turns[turn].ends_s);
    }
}

static void put_best(struct sh_json_put *put,
                     json_t *parent,
                     const struct sh_team_sheet *sheet,
                     const struct sh_team_chance_best *best)
{
    json_t *object = sh_json_put_object(put, parent, "most_left");
    sh_json_put_value(put, object, "alike", json_boolean(best->is_alike));
    sh_json_put_value(put, object, "sure", json_boolean(best->is_sure));
    if (best->is_alike) {
        sh_json_put_value(put, object, "first", json_null());
        sh_json_put_value(put, object, "next", json_null());
        sh_json_put_value(put, object, "gain_s", json_null());
        sh_json_put_value(put, object, "share", json_null());
        return;
    }
    put_name(put, object, "first", sheet, best->archer);
    put_name(put, object, "next", sheet, best->next);
    put_figure(put, object, "gain_s", &best->gain_s);
    sh_json_put_number(put, object, "share", best->share_ratio);
}

static void
put_chance(struct sh_json_put *put, json_t *list, const struct sh_team_sheet *sheet, size_t i)
{
    const struct sh_team_chance *chance = &sheet->chances[i];
    json_t *object = sh_json_put_object_at(put, list, i);
    sh_json_put_count(put, object, "arrows_a_turn", chance->plan.n_turn);
    put_best(put, object, sheet, &chance->best);
    json_t *orders = sh_json_put_list(put, object, "orders");
    for (size_t order = 0; order < chance->n_orders; order++) {
        put_order(put, sh_json_put_object_at(put, orders, order), sheet, chance,
                  &chance->orders[order]);
    }
}

static void fill(const struct sh_team_sheet *sheet, struct sh_json_put *put, json_t *root)
{
    const struct sh_team_chance *chance = &sheet->chances[0];
    sh_json_put_text(put, root, "format", FORMAT_NAME);
    sh_json_put_count(put, root, "version", FORMAT_VERSION);
    sh_json_put_value(put, root, "round", sh_shot_json_make_string(sheet->round));
    sh_json_put_number(put, root, "shooting_s", chance->plan.shooting_s);
    sh_json_put_count(put, root, "arrows", chance->plan.n_arrows * chance->plan.n_archers);
    sh_json_put_value(put, root, "first_takes_over",
                      json_boolean(chance->plan.is_first_handed));
    sh_json_put_count(put, root, "seed", chance->config.seed);
    sh_json_put_count(put, root, "runs", chance->config.n_runs);
    sh_json_put_count(put, root, "redraws", chance->config.n_redraws);
    sh_json_put_count(put, root, "runs_a_redraw", chance->config.n_inner);
    struct sh_sentence_list list = {put, sh_json_put_list(put, root, "sentences")};
    const struct sh_team_words_sink sink = {sh_sentence_list_take, &list};
    const enum sh_status status = sh_team_words_each(sheet, &sink);
    if (status != SH_OK) {
        sh_json_put_fail(put, status, "sentences");
    }
    json_t *archers = sh_json_put_list(put, root, "archers");
    for (size_t a = 0; a < sheet->n_archers; a++) {
        put_archer(put, archers, sheet, a);
    }
    json_t *turns = sh_json_put_list(put, root, "turns");
    for (size_t i = 0; i < sheet->n_chances; i++) {
        put_chance(put, turns, sheet, i);
    }
}

enum sh_status sh_team_json_write(const struct sh_team_sheet *sheet, struct sh_text *text)
{
    struct sh_json_put put = {.status = SH_OK};
    json_t *root = json_object();
    if (root == NULL) {
        return SH_ERR_MEMORY;
    }
    fill(sheet, &put, root);
    return sh_json_put_finish(&put, root, text);
}
