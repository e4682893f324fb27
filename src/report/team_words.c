/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/team_words.h"

#include <math.h>

#define PER_CENT   100.0
#define NEARLY     0.995 /* what rounds to 100 of 100 and is not */
#define FIXED_S    0.05  /* intervals that do not show */
#define MISS_RATIO 0.05  /* chance to see no let-down of so many */

/* A sentence in the making. */
struct speaker {
    const struct sh_team_sheet *sheet;
    const struct sh_team_words_sink *sink;
    struct sh_text words;
    enum sh_status status;
};

static void end_sentence(struct speaker *speaker)
{
    if (speaker->status == SH_OK) {
        speaker->status = speaker->words.status;
    }
    if (speaker->status == SH_OK) {
        speaker->status = speaker->sink->take(speaker->sink->context, speaker->words.data);
    }
    sh_text_reset(&speaker->words);
}

/* Nothing simulated is certain: neither 0 nor 100 of 100 is claimed. */
static void put_share(struct sh_text *text, double ratio)
{
    if (ratio >= NEARLY) {
        sh_text_puts(text, "over 99");
    } else if (ratio <= 1.0 - NEARLY) {
        sh_text_puts(text, "under 1");
    } else {
        sh_text_printf(text, "%.0f", PER_CENT * ratio);
    }
}

void sh_team_words_put_chance(struct sh_text *text, const struct sh_team_chance_figure *chance)
{
    put_share(text, chance->value);
    sh_text_puts(text, " of 100 ends");
    if (chance->lo >= NEARLY || chance->hi <= 1.0 - NEARLY) {
        return;
    }
    sh_text_puts(text, " (");
    put_share(text, chance->lo);
    sh_text_puts(text, " to ");
    put_share(text, chance->hi);
    sh_text_puts(text, ")");
}

void sh_team_words_put_time(struct sh_text *text, const struct sh_team_chance_figure *time_s)
{
    sh_text_printf(text, "%.1f s", time_s->value);
    if (time_s->hi - time_s->lo >= FIXED_S) {
        sh_text_printf(text, " (%.1f to %.1f)", time_s->lo, time_s->hi);
    }
}

void sh_team_words_put_order(struct sh_text *text,
                             const struct sh_team_sheet *sheet,
                             const struct sh_team_plan_order *order)
{
    for (size_t i = 0; i < sheet->n_archers; i++) {
        sh_text_printf(text, "%s%s", i > 0 ? ", " : "", sheet->archers[order->archer[i]].name);
    }
}

/* The order that an archer begins; all of them take the same time. */
static const struct sh_team_chance_order *find_begun(const struct sh_team_chance *chance,
                                                     size_t archer)
{
    size_t i = 0;
    while (i + 1 < chance->n_orders && chance->orders[i].order.archer[0] != archer) {
        i++;
    }
    return &chance->orders[i];
}

static void put_turns(struct speaker *speaker, const struct sh_team_chance *chance)
{
    sh_text_printf(&speaker->words, "In turns of %zu arrow%s ", chance->plan.n_turn,
                   chance->plan.n_turn == 1 ? "" : "s");
}

static void say_chance(struct speaker *speaker, const struct sh_team_chance *chance)
{
    const struct sh_team_chance_order *order = find_begun(chance, chance->best.archer);
    put_turns(speaker, chance);
    if (chance->best.is_alike) {
        sh_text_puts(&speaker->words, "the team finishes in time in ");
    } else {
        sh_text_printf(&speaker->words, "and with %s first the team finishes in time in ",
                       speaker->sheet->archers[chance->best.archer].name);
    }
    sh_team_words_put_chance(&speaker->words, &order->chance);
    sh_text_puts(&speaker->words, order->left_s.value < 0.0 ? "; on average it is late by "
                                                            : "; on average there are left ");
    if (order->left_s.value < 0.0) {
        const struct sh_team_chance_figure late_s = {-order->left_s.value, -order->left_s.hi,
                                                     -order->left_s.lo};
        sh_team_words_put_time(&speaker->words, &late_s);
    } else {
        sh_team_words_put_time(&speaker->words, &order->left_s);
    }
    if (order->low_s > 0.0) {
        sh_text_printf(&speaker->words, ", in 19 of 20 ends %.1f s or more.", order->low_s);
    } else {
        sh_text_printf(&speaker->words, ", in one end of 20 it is late by %.1f s or more.",
                       -order->low_s);
    }
    end_sentence(speaker);
}

/* Where nothing tells orders apart, once for all sizes of turn. */
static bool say_alike(struct speaker *speaker)
{
    for (size_t i = 0; i < speaker->sheet->n_chances; i++) {
        if (!speaker->sheet->chances[i].best.is_alike) {
            return false;
        }
    }
    sh_text_puts(&speaker->words,
                 "The order makes no difference to the time left at the end: nothing was seen "
                 "or given by which orders could differ.");
    end_sentence(speaker);
    return true;
}

/* How far the redraws bear the best order out. */
static void put_support(struct speaker *speaker, const struct sh_team_chance_best *best)
{
    if (best->gain_s.hi - best->gain_s.lo < FIXED_S) {
        sh_text_puts(&speaker->words, "; that follows from the hand-overs that were given.");
        return;
    }
    sh_text_printf(&speaker->words, "%s ",
                   best->is_sure ? "; it was the best in" : ", but it was the best in only");
    put_share(&speaker->words, best->share_ratio);
    sh_text_puts(&speaker->words, " of 100 redraws of the recordings.");
}

static void say_order(struct speaker *speaker, const struct sh_team_chance *chance)
{
    const struct sh_team_chance_best *best = &chance->best;
    put_turns(speaker, chance);
    if (best->is_alike) {
        sh_text_puts(&speaker->words,
                     "the order makes no difference to the time left at the end.");
        end_sentence(speaker);
        return;
    }
    sh_text_printf(&speaker->words, "%s where %s begins",
                   best->is_sure ? "most time is left" : "the orders cannot be told apart:",
                   speaker->sheet->archers[best->archer].name);
    sh_text_puts(&speaker->words, best->is_sure ? ": " : " there are left ");
    sh_team_words_put_time(&speaker->words, &best->gain_s);
    sh_text_printf(&speaker->words, " more than where %s does",
                   speaker->sheet->archers[best->next].name);
    put_support(speaker, best);
    end_sentence(speaker);
}

static void put_hand_over(struct speaker *speaker, const struct sh_team_hand_over *hand_over)
{
    const double mean_s = sh_team_hand_over_get_mean_s(hand_over);
    switch (hand_over->source) {
    case SH_TEAM_HAND_OVER_ASSUMED:
    case SH_TEAM_HAND_OVER_GIVEN:
        sh_text_printf(&speaker->words, " To take over: %.1f to %.1f s (%s).", hand_over->low_s,
                       hand_over->high_s,
                       hand_over->source == SH_TEAM_HAND_OVER_GIVEN ? "given" : "assumed");
        break;
    case SH_TEAM_HAND_OVER_TEAM:
    case SH_TEAM_HAND_OVER_OWN:
        sh_text_printf(&speaker->words, " To take over: %.1f s, %zu seen%s.", mean_s,
                       hand_over->n_seen,
                       hand_over->source == SH_TEAM_HAND_OVER_TEAM ? " of all the team" : "");
        break;
    }
}

/* "wren: 36 arrows of 6 ends; the first of a turn takes 14.8 s, each further one 13.9 s, ..."
 */
static void say_archer(struct speaker *speaker, size_t a)
{
    const struct sh_team_sheet_archer *archer = &speaker->sheet->archers[a];
    const struct sh_team_chance *chance = &speaker->sheet->chances[0];
    const struct sh_team_chance_archer *takes = &chance->archers[a];
    const struct sh_team_times_count *count = &archer->count;
    sh_text_printf(&speaker->words, "%s: %zu arrows of %zu ends. ", archer->name,
                   count->n_arrows, count->n_timed_ends);
    sh_text_printf(&speaker->words, "On average the first of a turn takes %.1f s",
                   takes->first_s[SH_TEAM_FIRST_HAND_OVER]);
    if (fabs(takes->first_s[SH_TEAM_FIRST_START] - takes->first_s[SH_TEAM_FIRST_HAND_OVER]) >
        0.0) {
        sh_text_printf(&speaker->words, " (%.1f s from the clock's start)",
                       takes->first_s[SH_TEAM_FIRST_START]);
    }
    sh_text_printf(&speaker->words, ", a further one %.1f s.", takes->next_s);
    if (count->n_let_downs > 0) {
        sh_text_printf(
            &speaker->words, " %zu of %zu draws were let down: %.1f s an arrow on average.",
            count->n_let_downs, count->n_arrows + count->n_let_downs, takes->let_downs_s);
    } else {
        sh_text_printf(&speaker->words,
                       " None was let down and none is reckoned with; as many as %.0f of 100 "
                       "could be (95 %%).",
                       PER_CENT * (1.0 - pow(MISS_RATIO, 1.0 / (double)count->n_arrows)));
    }
    put_hand_over(speaker, &chance->plan.archers[a].hand_over);
    end_sentence(speaker);
}

/* What an archer's times do not rest on. */
static void say_gaps(struct speaker *speaker, size_t a)
{
    const struct sh_team_sheet_archer *archer = &speaker->sheet->archers[a];
    const struct sh_team_times_count *count = &archer->count;
    if (count->n_free_ends > 0) {
        sh_text_printf(&speaker->words,
                       "Caution: %zu of %zu ends of %s were shot without a clock. Under one, "
                       "with a team waiting, the same arrows may be faster or slower.",
                       count->n_free_ends, count->n_timed_ends, archer->name);
        end_sentence(speaker);
    }
    if (count->n_first[SH_TEAM_FIRST_START] + count->n_first[SH_TEAM_FIRST_HAND_OVER] == 0) {
        sh_text_printf(&speaker->words,
                       "How long the first arrow of a turn takes %s is not known: further "
                       "arrows stand in for it.",
                       archer->name);
        end_sentence(speaker);
    } else if (count->n_next == 0) {
        sh_text_printf(&speaker->words,
                       "How long a further arrow of a turn takes %s is not known: first arrows "
                       "stand in for it.",
                       archer->name);
        end_sentence(speaker);
    }
    if (count->n_let_downs > 0 && count->n_costs == 0) {
        sh_text_printf(&speaker->words,
                       "What a let-down costs %s is not known: the time of one arrow is taken.",
                       archer->name);
        end_sentence(speaker);
    }
}

static void say_left_out(struct speaker *speaker, size_t a)
{
    const struct sh_team_sheet_archer *archer = &speaker->sheet->archers[a];
    if (archer->n_dropped > 0) {
        sh_text_printf(&speaker->words,
                       "%s: %zu ends without a clock are left out, those under one being "
                       "enough.",
                       archer->name, archer->n_dropped);
        end_sentence(speaker);
    }
    if (archer->n_unknown > 0) {
        sh_text_printf(&speaker->words, "%s: the times of %zu arrows are not known.",
                       archer->name, archer->n_unknown);
        end_sentence(speaker);
    }
}

static bool is_assumed(const struct sh_team_sheet *sheet)
{
    for (size_t a = 0; a < sheet->n_archers; a++) {
        if (sheet->chances[0].plan.archers[a].hand_over.source == SH_TEAM_HAND_OVER_ASSUMED) {
            return true;
        }
    }
    return false;
}

static void say_limits(struct speaker *speaker)
{
    if (is_assumed(speaker->sheet)) {
        sh_text_puts(&speaker->words,
                     "Hand-overs that nobody has measured are assumed: give your own with "
                     "--hand-over.");
        end_sentence(speaker);
    }
    sh_text_puts(&speaker->words,
                 "Each archer is taken to shoot as in the recordings, whatever is left on the "
                 "clock, and as independent of the others; slower arrows than were recorded "
                 "hardly come up. Where the chance is near 100 the interval is somewhat too "
                 "narrow (docs/team.md).");
    end_sentence(speaker);
    sh_text_puts(&speaker->words, "The rules of the event and of the range come first: check "
                                  "the times above against them.");
    end_sentence(speaker);
}

enum sh_status sh_team_words_each(const struct sh_team_sheet *sheet,
                                  const struct sh_team_words_sink *sink)
{
    static void (*const parts[])(struct speaker *, size_t) = {say_archer, say_gaps,
                                                              say_left_out};
    struct speaker speaker = {.sheet = sheet, .sink = sink};
    sh_text_init(&speaker.words, 0);
    for (size_t i = 0; i < sheet->n_chances; i++) {
        say_chance(&speaker, &sheet->chances[i]);
    }
    const bool is_alike = say_alike(&speaker);
    for (size_t i = 0; !is_alike && i < sheet->n_chances; i++) {
        say_order(&speaker, &sheet->chances[i]);
    }
    for (size_t part = 0; part < sizeof parts / sizeof parts[0]; part++) {
        for (size_t a = 0; a < sheet->n_archers; a++) {
            parts[part](&speaker, a);
        }
    }
    say_limits(&speaker);
    sh_text_close(&speaker.words);
    return speaker.status;
}
