/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/live_clock.h"

#include <string.h>

#include "support/cmocka_all.h"
#include "support/near.h"

/* What a front is given, as JSON; to be freed. */
static json_t *read_object(struct sh_text *text)
{
    struct sh_text whole;
    json_error_t error;
    sh_text_init(&whole, 0);
    sh_text_printf(&whole, "{\"at\":0%s}", text->data);
    json_t *object = json_loads(whole.data, JSON_REJECT_DUPLICATES, &error);
    assert_non_null(object);
    sh_text_close(&whole);
    sh_text_close(text);
    return object;
}

/* Every format with every value; one's own first, a changed one as it was changed. */
static void test_formats(void **state)
{
    const struct sh_round_format_set set = sh_round_format_default();
    struct sh_capture_setup setup = {.has_clock = true,
                                     .clock = *sh_round_format_find(&set, "team")};
    struct sh_text text;
    setup.clock.shooting_s = 111.0;
    sh_text_init(&text, 0);
    sh_live_clock_put_formats(&setup, &text);
    json_t *hello = read_object(&text);
    const json_t *rounds = json_object_get(hello, "rounds");
    assert_int_equal(json_array_size(rounds), set.n_formats);
    for (size_t i = 0; i < set.n_formats; i++) {
        const struct sh_round_format *format = &set.format[i];
        const json_t *round = json_array_get(rounds, i);
        const char *name = json_string_value(json_object_get(round, "name"));
        const char *listed =
            json_string_value(json_array_get(json_object_get(hello, "formats"), i));
        const bool is_changed = strcmp(format->name, "team") == 0;
        assert_string_equal(name, format->name);
        assert_string_equal(listed, format->name);
        assert_near(json_number_value(json_object_get(round, "shooting_s")),
                    is_changed ? 111.0 : format->shooting_s, 0.0, 0.0);
        assert_int_equal(json_integer_value(json_object_get(round, "arrows")),
                         format->n_arrows);
        assert_int_equal(json_object_size(round), 9);
    }
    json_decref(hello);
    (void)strcpy(setup.clock.name, "lunch round");
    sh_text_init(&text, 0);
    sh_live_clock_put_formats(&setup, &text);
    hello = read_object(&text);
    assert_string_equal(json_string_value(json_array_get(json_object_get(hello, "formats"), 0)),
                        "lunch round");
    assert_int_equal(json_array_size(json_object_get(hello, "rounds")), set.n_formats + 1);
    json_decref(hello);
}

static enum sh_status choose(const char *command, struct sh_round_format *out)
{
    const struct sh_capture_setup setup = {.has_clock = false};
    json_error_t error;
    json_t *object = json_loads(command, 0, &error);
    assert_non_null(object);
    struct sh_error refused = {0};
    const enum sh_status status = sh_live_clock_choose(&setup, object, out, &refused);
    assert_int_equal(refused.status != SH_OK, status != SH_OK);
    json_decref(object);
    return status;
}

static void test_values_are_changed(void **state)
{
    struct sh_round_format format = {.name = "before"};
    assert_int_equal(choose("{\"format\":\"mixed\"}", &format), SH_OK);
    assert_near(format.shooting_s, 80.0, 0.0, 0.0);
    assert_int_equal(choose("{\"format\":\"mixed\",\"set\":{\"shooting_s\":\"81.5\","
                            "\"warning_s\":0,\"arrows\":6,\"arrows_a_turn\":\"3\"}}",
                            &format),
                     SH_OK);
    assert_string_equal(format.name, "mixed");
    assert_near(format.shooting_s, 81.5, 0.0, 0.0);
    assert_near(format.warning_s, 0.0, 0.0, 0.0);
    assert_int_equal(format.n_arrows, 6);
    assert_int_equal(format.n_arrows_turn, 3);
}

static void test_what_makes_no_format_is_refused(void **state)
{
    static const char *const commands[] = {
        "{}",
        "{\"format\":7}",
        "{\"format\":\"kiln\"}",
        "{\"format\":\"mixed\",\"set\":{\"shooting_s\":\"\"}}",
        "{\"format\":\"mixed\",\"set\":{\"shooting_s\":4.9}}",
        "{\"format\":\"mixed\",\"set\":{\"shooting_s\":true}}",
        "{\"format\":\"mixed\",\"set\":{\"bricks\":1}}",
        "{\"format\":\"mixed\",\"set\":{\"arrows\":1.5}}",
        "{\"format\":\"mixed\",\"set\":{\"warning_s\":80}}",
        "{\"format\":\"alternating\",\"set\":{\"archers\":2}}",
    };
    for (size_t i = 0; i < sizeof commands / sizeof commands[0]; i++) {
        struct sh_round_format format = {.name = "before"};
        assert_int_equal(choose(commands[i], &format), SH_ERR_ARGUMENT);
        assert_string_equal(format.name, "before");
    }
}

static void
check_view(const struct sh_shooting_clock_view *view, const char *name, const char *expected)
{
    const struct sh_round_format_set set = sh_round_format_default();
    struct sh_text text;
    sh_text_init(&text, 0);
    sh_live_clock_put(view, sh_round_format_find(&set, name), &text);
    assert_string_equal(text.data, expected);
    sh_text_close(&text);
}

static void test_what_is_seen(void **state)
{
    const struct sh_shooting_clock_view shooting = {.state = SH_SHOOTING_CLOCK_SHOOTING,
                                                    .left_s = 17.5,
                                                    .side = SH_SHOOTING_CLOCK_OTHER,
                                                    .archer = 2,
                                                    .n_gone = {2, 1}};
    const struct sh_shooting_clock_view halted = {
        .state = SH_SHOOTING_CLOCK_PAUSED, .left_s = 90.0, .archer = 2, .n_gone = {7, 0}};
    check_view(NULL, "team", ",\"clock\":null");
    check_view(&shooting, "alternating",
               ",\"clock\":{\"phase\":\"shooting\",\"left_s\":17.5,\"format\":\"alternating\","
               "\"arrows_left\":1,\"archer\":null,\"side\":\"opponent\"}");
    check_view(&halted, "team",
               ",\"clock\":{\"phase\":\"halted\",\"left_s\":90,\"format\":\"team\","
               "\"arrows_left\":0,\"archer\":2,\"side\":null}");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_formats),
        cmocka_unit_test(test_values_are_changed),
        cmocka_unit_test(test_what_makes_no_format_is_refused),
        cmocka_unit_test(test_what_is_seen),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
