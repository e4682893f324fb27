/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shot/clicker.h"

#include <math.h>
#include <string.h>

#include "base/units.h"
#include "signal/random.h"
#include "support/cmocka_all.h"
#include "support/near.h"

#define N       ((size_t)4000)
#define RATE_HZ 1000.0
#define OPEN_S  2.5 /* full draw at 1 s, release at 2.65 s */

/* A contact on one stream, acceleration or sound on another. */
struct fixture {
    double time_s[N];
    double contact[N];
    double shaking[N];
    unsigned char flags[2][N];
    double work[4 * N];
    struct sh_stream described[2];
    struct sh_shot_view view;
    struct sh_shot shot;
};

static void close_contact(struct fixture *f, double from_s, double until_s, double value)
{
    for (size_t i = 0; i < N; i++) {
        if (f->time_s[i] >= from_s - 1e-9 && f->time_s[i] < until_s - 1e-9) {
            f->contact[i] = value;
        }
    }
}

static void add_blow(struct fixture *f, double time_s, double amplitude)
{
    for (size_t i = 0; i < N; i++) {
        const double after_s = f->time_s[i] - time_s;
        if (after_s > 0.0) {
            f->shaking[i] +=
                amplitude * exp(-after_s / 0.01) * sin(2.0 * SH_PI * 330.0 * after_s);
        }
    }
}

static void fill(struct fixture *f)
{
    struct sh_random random;
    sh_random_init(&random, 4);
    memset(f, 0, sizeof *f);
    for (size_t i = 0; i < N; i++) {
        f->time_s[i] = (double)i / RATE_HZ;
        f->shaking[i] = 0.3 * sh_random_get_normal(&random);
    }
    close_contact(f, 0.2, OPEN_S, 1.0);
    for (size_t s = 0; s < 2; s++) {
        f->described[s] = (struct sh_stream){.rate_hz = RATE_HZ, .n_channels = 1};
        f->view.stream[s] = (struct sh_shot_stream){.stream = &f->described[s],
                                                    .n_frames = N,
                                                    .time_s = f->time_s,
                                                    .flags = f->flags[s]};
    }
    f->described[0].channel[0].role = SH_ROLE_CLICKER_CONTACT;
    f->described[1].channel[0].role = SH_ROLE_BOW_ACCELERATION;
    f->view.stream[0].value[0] = f->contact;
    f->view.stream[1].value[0] = f->shaking;
    f->view.n_streams = 2;
    f->shot = (struct sh_shot){.kind = SH_SHOT_SHOT};
    f->shot.event_s[SH_EVENT_FULL_DRAW] = sh_quantity_known(1.0, 0.01);
    f->shot.event_s[SH_EVENT_RELEASE] = sh_quantity_known(2.65, 0.0004);
}

static const struct sh_quantity *find(struct fixture *f, double prior)
{
    const struct sh_clicker_config config = {prior, f->work, 4 * N};
    sh_clicker_find(&config, &f->view, &f->shot);
    return &f->shot.event_s[SH_EVENT_CLICKER];
}

/* The contact opened between two samples. */
static void test_contact_opens(void **state)
{
    static struct fixture f;
    fill(&f);
    const struct sh_quantity *clicker_s = find(&f, 0.9);
    assert_true(sh_quantity_is_known(clicker_s));
    assert_near(clicker_s->value, OPEN_S - 0.0005, 1e-9, 0.0);
    assert_near(clicker_s->u, 0.001 / sqrt(12.0), 1e-9, 0.0);
    assert_int_equal(f.shot.clicker_sensor, SH_CLICKER_CONTACT);
    assert_true(f.shot.clicker_probability > 0.9);
    assert_int_equal(f.shot.strip, SH_STRIP_FELL);
    f.described[0].channel[0].delay_s = 0.002;
    assert_near(find(&f, 0.9)->value, OPEN_S - 0.0025, 1e-9, 0.0);
}

/* Bounces belong to the opening before them; a touch much earlier does not. */
static void test_contact_bounces(void **state)
{
    static struct fixture f;
    fill(&f);
    close_contact(&f, 1.5, 1.504, 0.0);
    close_contact(&f, OPEN_S + 0.003, OPEN_S + 0.005, 1.0);
    close_contact(&f, OPEN_S + 0.012, OPEN_S + 0.013, 1.0);
    assert_near(find(&f, 0.9)->value, OPEN_S - 0.0005, 1e-9, 0.0);
}

/* Closed until the release: the strip falls with the arrow and is no clicker. */
static void test_contact_stays_closed(void **state)
{
    static struct fixture f;
    fill(&f);
    close_contact(&f, 0.2, 2.658, 1.0);
    assert_int_equal(find(&f, 0.9)->why, SH_WHY_NOT_SEEN);
    assert_int_equal(f.shot.strip, SH_STRIP_CONTACT_CLOSED);
    assert_int_equal(f.shot.clicker_sensor, SH_CLICKER_NONE);
}

/* A contact that never closed says nothing: the acceleration is asked. */
static void test_broken_contact(void **state)
{
    static struct fixture f;
    fill(&f);
    close_contact(&f, 0.0, 9.0, 0.0);
    add_blow(&f, 2.503, 30.0);
    const struct sh_quantity *clicker_s = find(&f, 0.9);
    assert_true(sh_quantity_is_known(clicker_s));
    assert_near(clicker_s->value, 2.503, 0.002, 0.0);
    assert_int_equal(f.shot.clicker_sensor, SH_CLICKER_ACCELERATION);
    assert_int_equal(f.shot.strip, SH_STRIP_FELL);
}

static void test_contact_lost_at_the_opening(void **state)
{
    static struct fixture f;
    fill(&f);
    f.flags[0][2500] = SH_SHOT_FLAG_FILLED;
    assert_int_equal(find(&f, 0.9)->why, SH_WHY_GAP);
    assert_int_equal(f.shot.clicker_sensor, SH_CLICKER_NONE);
}

/* Without a contact: acceleration, else sound; nothing below .9, never the departing arrow. */
static void test_blow_and_sound(void **state)
{
    static struct fixture f;
    fill(&f);
    f.described[0].channel[0].role = SH_ROLE_STRING_FORCE;
    add_blow(&f, 2.503, 30.0);
    assert_near(find(&f, 0.9)->value, 2.503, 0.002, 0.0);
    f.described[1].channel[0].role = SH_ROLE_SOUND;
    assert_near(find(&f, 0.9)->value, 2.503, 0.002, 0.0);
    assert_int_equal(f.shot.clicker_sensor, SH_CLICKER_SOUND);
    fill(&f);
    f.described[0].channel[0].role = SH_ROLE_STRING_FORCE;
    add_blow(&f, 2.6485, 200.0); /* within the guard of the release */
    assert_int_equal(find(&f, 0.9)->why, SH_WHY_NOT_SEEN);
    assert_true(f.shot.clicker_probability < 0.9);
    assert_int_equal(f.shot.strip, SH_STRIP_UNKNOWN);
}

static void test_where_it_is_not_looked_for(void **state)
{
    static struct fixture f;
    fill(&f);
    assert_int_equal(find(&f, 0.0)->why, SH_WHY_NOT_APPLICABLE);
    f.shot.event_s[SH_EVENT_RELEASE] = sh_quantity_unknown(SH_WHY_GAP);
    assert_int_equal(find(&f, 0.9)->why, SH_WHY_GAP);
    fill(&f);
    f.described[0].channel[0].role = SH_ROLE_STRING_FORCE;
    f.described[1].channel[0].role = SH_ROLE_STRING_FORCE;
    assert_int_equal(find(&f, 0.9)->why, SH_WHY_NO_CHANNEL);
    fill(&f);
    f.described[0].channel[0].role = SH_ROLE_STRING_FORCE;
    f.described[1].rate_hz = 200.0;
    assert_int_equal(find(&f, 0.9)->why, SH_WHY_TOO_SLOW);
    fill(&f);
    f.shot.event_s[SH_EVENT_FULL_DRAW].value = 2.66;
    assert_int_equal(find(&f, 0.9)->why, SH_WHY_TOO_SHORT);
}

/* After a let-down a contact counts, a blow does not. */
static void test_let_down(void **state)
{
    static struct fixture f;
    fill(&f);
    f.shot.kind = SH_SHOT_LET_DOWN;
    f.shot.event_s[SH_EVENT_LET_DOWN] = f.shot.event_s[SH_EVENT_RELEASE];
    f.shot.event_s[SH_EVENT_RELEASE] = sh_quantity_unknown(SH_WHY_NOT_APPLICABLE);
    assert_near(find(&f, 0.9)->value, OPEN_S - 0.0005, 1e-9, 0.0);
    f.described[0].channel[0].role = SH_ROLE_STRING_FORCE;
    add_blow(&f, 2.503, 30.0);
    assert_int_equal(find(&f, 0.9)->why, SH_WHY_NOT_APPLICABLE);
}

static void test_span(void **state)
{
    struct sh_shot shot = {.kind = SH_SHOT_SHOT};
    double from_s = 0.0;
    double until_s = 0.0;
    assert_false(sh_clicker_get_span(&shot, &from_s, &until_s));
    shot.event_s[SH_EVENT_RELEASE] = sh_quantity_known(10.0, 0.004);
    assert_true(sh_clicker_get_span(&shot, &from_s, &until_s));
    assert_near(until_s, 10.0 - 0.001 - 0.006, 1e-9, 0.0);
    assert_near(from_s, 9.0, 1e-9, 0.0);
    shot.event_s[SH_EVENT_DRAW_START] = sh_quantity_known(9.4, 0.004);
    assert_true(sh_clicker_get_span(&shot, &from_s, &until_s));
    assert_near(from_s, 9.4, 1e-9, 0.0);
    shot.event_s[SH_EVENT_FULL_DRAW] = sh_quantity_known(7.0, 0.004);
    assert_true(sh_clicker_get_span(&shot, &from_s, &until_s));
    assert_near(from_s, 7.0, 1e-9, 0.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_contact_opens),
        cmocka_unit_test(test_contact_bounces),
        cmocka_unit_test(test_contact_stays_closed),
        cmocka_unit_test(test_broken_contact),
        cmocka_unit_test(test_contact_lost_at_the_opening),
        cmocka_unit_test(test_blow_and_sound),
        cmocka_unit_test(test_where_it_is_not_looked_for),
        cmocka_unit_test(test_let_down),
        cmocka_unit_test(test_span),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
