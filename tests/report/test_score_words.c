/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/score_words.h"

#include <string.h>

#include "support/cmocka_all.h"

/* A study of which only what goes with the score is there. */
static struct sh_consistency_study make(void)
{
    struct sh_consistency_study study = {.odds = {.why = SH_SCORE_ODDS_KNOWN,
                                                  .n = 72,
                                                  .n_least = 50,
                                                  .n_levels = 4,
                                                  .n_needed = 160.0}};
    study.links[0] = (struct sh_score_link){
        .is_known = true,
        .n = 72,
        .spearman = {.value = -0.41, .lo = -0.6, .hi = -0.2, .p = 0.0003},
        .p_of_all = 0.0015,
        .visible = 0.39};
    study.odds.term[0] = (struct sh_score_odds_term){.is_in = true,
                                                     .sd = 0.613,
                                                     .ratio = 0.45,
                                                     .lo = 0.27,
                                                     .hi = 0.75,
                                                     .p = 0.002,
                                                     .p_of_all = 0.01,
                                                     .visible = 2.3};
    return study;
}

static void check(const struct sh_consistency_study *study,
                  void (*put)(const struct sh_consistency_study *study, struct sh_text *text),
                  const char *expected)
{
    struct sh_text text;
    sh_text_init(&text, 0);
    put(study, &text);
    assert_string_equal(text.data != NULL ? text.data : "", expected);
    sh_text_close(&text);
}

static void put_link(const struct sh_consistency_study *study, struct sh_text *text)
{
    sh_score_words_put_link(study, SH_CONSISTENCY_HOLD, text);
}

static void put_odds(const struct sh_consistency_study *study, struct sh_text *text)
{
    sh_score_words_put_odds(study, SH_CONSISTENCY_HOLD, 2, text);
}

static void put_other_odds(const struct sh_consistency_study *study, struct sh_text *text)
{
    sh_score_words_put_odds(study, SH_CONSISTENCY_TREMOR, 2, text);
}

static void test_what_is_seen(void **state)
{
    const struct sh_consistency_study study = make();
    check(&study, put_link,
          "A lower score goes with a larger hold: rank correlation -0.41 (-0.60 to -0.20), 72 "
          "arrows.");
    check(
        &study, put_odds,
        "With the other measures the same, 0.61 s more hold (one SD) goes with 0.45 times the "
        "odds of a higher score (0.27 to 0.75).");
    check(&study, put_other_odds, ""); /* not looked at */
    check(&study, sh_score_words_put_basis,
          "Odds: by the proportional-odds model, 72 arrows of 4 different scores that show all "
          "these measures.");
    check(&study, sh_score_words_put_caution,
          "Timing explained about 8 % of an arrow's distance from the centre in a published "
          "study "
          "(Callaway et al. 2017). A link as weak takes 153 arrows to see, with all measures "
          "together 160, and no link says what makes what.");
}

/* Limits that leave 1 out are no claim where it does not stand with all measures allowed for.
 */
static void test_claims_nothing(void **state)
{
    struct sh_consistency_study study = make();
    study.odds.term[0].p_of_all = 0.06;
    study.links[0].p_of_all = 0.06;
    check(
        &study, put_odds,
        "With the other measures the same, the hold goes with no difference of the score that "
        "these arrows could show: odds 0.45 times for one SD (0.27 to 0.75); 2.30 times would "
        "have been seen four times in five.");
    check(&study, put_link,
          "Score and hold: nothing that 72 arrows could show; a rank correlation of 0.39 would "
          "have been seen four times in five.");
}

static void test_why_not(void **state)
{
    static const struct {
        enum sh_score_odds_why why;
        const char *words;
    } cases[] = {
        {SH_SCORE_ODDS_FEW, "72 arrows with a score show them, 50 are needed"},
        {SH_SCORE_ODDS_ALIKE, "score alike"},
        {SH_SCORE_ODDS_LEVELS, "more than 16 different scores"},
        {SH_SCORE_ODDS_PARTED, "go together wholly"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct sh_consistency_study study = make();
        struct sh_text text;
        study.odds.why = cases[i].why;
        check(&study, put_odds, "");
        sh_text_init(&text, 0);
        sh_score_words_put_basis(&study, &text);
        assert_non_null(strstr(text.data, cases[i].words));
        sh_text_reset(&text);
        sh_score_words_put_caution(&study, &text);
        assert_null(strstr(text.data, "together"));
        sh_text_close(&text);
    }
    struct sh_consistency_study study = make();
    study.links[0].is_known = false;
    check(&study, put_link, "");
    check(&study, sh_score_words_put_basis, "");
    check(
        &study, sh_score_words_put_caution,
        "The score is not set beside the measures: fewer than 10 arrows have one of their own, "
        "or all score alike.");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_what_is_seen),
        cmocka_unit_test(test_claims_nothing),
        cmocka_unit_test(test_why_not),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
