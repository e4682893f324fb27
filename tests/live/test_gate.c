/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "live/gate.h"
#include "support/cmocka_all.h"
#include "support/near.h"

/* Bytes that are the same in each run, and do not come again soon. */
static enum sh_status scatter(void *context, void *bytes, size_t n_bytes)
{
    uint32_t *next = context;
    for (size_t i = 0; i < n_bytes; i++) {
        *next = *next * 1664525u + 1013904223u; /* Numerical Recipes, 7.1 */
        ((unsigned char *)bytes)[i] = (unsigned char)(*next >> 24);
    }
    return SH_OK;
}

static enum sh_status give_none(void *context, void *bytes, size_t n_bytes)
{
    (void)context;
    (void)bytes;
    (void)n_bytes;
    return SH_ERR_IO;
}

static void open_gate(struct sh_gate *gate, uint32_t *next)
{
    const struct sh_secret_source source = {scatter, next};
    *next = 1;
    assert_int_equal(sh_gate_init(gate, &source), SH_OK);
}

static enum sh_gate_answer
try(struct sh_gate *gate, const char *address, const char *code, double now_s)
{
    struct sh_gate_verdict verdict;
    assert_int_equal(sh_gate_try(gate, address, code, now_s, &verdict), SH_OK);
    return verdict.answer;
}

static void test_right_code_gives_a_token_that_is_known(void **state)
{
    struct sh_gate gate;
    struct sh_gate_verdict verdict;
    uint32_t next = 0;
    open_gate(&gate, &next);
    assert_int_equal(strlen(gate.code), 6);
    assert_int_equal(strspn(gate.code, "0123456789"), 6);
    assert_int_equal(sh_gate_try(&gate, "10.0.0.2", gate.code, 1.0, &verdict), SH_OK);
    assert_int_equal(verdict.answer, SH_GATE_ADMITTED);
    assert_int_equal(strspn(verdict.token, "0123456789abcdef"), 32);
    assert_true(sh_gate_is_known(&gate, verdict.token, 2.0));
    verdict.token[31] = verdict.token[31] == '0' ? '1' : '0';
    assert_false(sh_gate_is_known(&gate, verdict.token, 2.0));
    assert_false(sh_gate_is_known(&gate, "", 2.0));
}

static void test_token_ends_when_it_is_not_used(void **state)
{
    struct sh_gate gate;
    struct sh_gate_verdict verdict;
    uint32_t next = 0;
    open_gate(&gate, &next);
    assert_int_equal(sh_gate_try(&gate, "10.0.0.2", gate.code, 0.0, &verdict), SH_OK);
    assert_true(sh_gate_is_known(&gate, verdict.token, SH_GATE_SESSION_S));
    assert_true(sh_gate_is_known(&gate, verdict.token, 2.0 * SH_GATE_SESSION_S));
    assert_false(sh_gate_is_known(&gate, verdict.token, 3.0 * SH_GATE_SESSION_S + 1.0));
    assert_false(sh_gate_is_known(&gate, verdict.token, 2.0 * SH_GATE_SESSION_S));
}

static void test_wrong_codes_wait_longer_and_longer(void **state)
{
    struct sh_gate gate;
    struct sh_gate_verdict verdict;
    uint32_t next = 0;
    double now_s = 0.0;
    open_gate(&gate, &next);
    for (unsigned i = 0; i < SH_GATE_FREE_TRIES; i++) {
        assert_int_equal(try(&gate, "10.0.0.2", "x", now_s), SH_GATE_WRONG);
    }
    for (double wait_s = 2.0; wait_s <= 256.0; wait_s *= 2.0) {
        assert_int_equal(try(&gate, "10.0.0.2", "x", now_s), SH_GATE_WRONG);
        assert_int_equal(
            sh_gate_try(&gate, "10.0.0.2", gate.code, now_s + wait_s - 0.5, &verdict), SH_OK);
        assert_int_equal(verdict.answer, SH_GATE_WAIT); /* the right one neither */
        assert_near(verdict.wait_s, 0.5, 1e-9, 0.0);
        now_s += wait_s;
    }
    assert_int_equal(try(&gate, "10.0.0.2", "x", now_s), SH_GATE_WRONG);
    assert_int_equal(try(&gate, "10.0.0.2", gate.code, now_s + 299.0), SH_GATE_WAIT);
    assert_int_equal(try(&gate, "10.0.0.2", gate.code, now_s + 300.0), SH_GATE_ADMITTED);
}

static void test_one_who_is_wrong_does_not_hold_up_another(void **state)
{
    struct sh_gate gate;
    uint32_t next = 0;
    open_gate(&gate, &next);
    for (int i = 0; i < 6; i++) {
        (void)try(&gate, "10.0.0.2", "x", 0.0);
    }
    assert_int_equal(try(&gate, "10.0.0.3", gate.code, 0.0), SH_GATE_ADMITTED);
    assert_int_equal(try(&gate, "10.0.0.2", gate.code, 0.0), SH_GATE_WAIT);
}

static void test_many_addresses_wear_out_a_code(void **state)
{
    struct sh_gate gate;
    uint32_t next = 0;
    char address[SH_GATE_ADDRESS_BYTES];
    char first[SH_SECRET_CODE_BYTES];
    open_gate(&gate, &next);
    memcpy(first, gate.code, sizeof first);
    for (unsigned i = 0; i < SH_GATE_CODE_TRIES; i++) {
        assert_int_equal(gate.n_codes, 1);
        (void)snprintf(address, sizeof address, "10.0.%u.1", i);
        assert_int_equal(try(&gate, address, "x", 0.0), SH_GATE_WRONG);
    }
    assert_int_equal(gate.n_codes, 2);
    assert_string_not_equal(gate.code, first);
    assert_int_equal(try(&gate, "10.1.0.1", gate.code, SH_GATE_PAUSE_S - 0.1), SH_GATE_WAIT);
    assert_int_equal(try(&gate, "10.1.0.1", first, SH_GATE_PAUSE_S), SH_GATE_WRONG);
    assert_int_equal(try(&gate, "10.1.0.1", gate.code, SH_GATE_PAUSE_S), SH_GATE_ADMITTED);
}

static void test_more_addresses_than_places_make_no_free_tries(void **state)
{
    struct sh_gate gate;
    uint32_t next = 0;
    char address[SH_GATE_ADDRESS_BYTES];
    unsigned n_looked_at = 0;
    double now_s = 0.0;
    open_gate(&gate, &next);
    for (unsigned i = 0; i < 4 * SH_GATE_ADDRESSES; i++) {
        (void)snprintf(address, sizeof address, "10.%u.%u.1", i / 200, i % 200);
        n_looked_at += try(&gate, address, "x", now_s) == SH_GATE_WRONG;
        now_s += 0.25; /* 256 s in all: a code's tries and a pause, four times and a bit */
    }
    assert_in_range(n_looked_at, SH_GATE_CODE_TRIES, 5 * SH_GATE_CODE_TRIES);
}

static void test_sessions_have_a_bound(void **state)
{
    struct sh_gate gate;
    struct sh_gate_verdict first;
    struct sh_gate_verdict verdict;
    uint32_t next = 0;
    open_gate(&gate, &next);
    assert_int_equal(sh_gate_try(&gate, "10.0.0.2", gate.code, 0.0, &first), SH_OK);
    for (unsigned i = 1; i < SH_GATE_SESSIONS_MAX; i++) {
        assert_int_equal(sh_gate_try(&gate, "10.0.0.2", gate.code, i, &verdict), SH_OK);
        assert_true(sh_gate_is_known(&gate, first.token, 0.0));
    }
    assert_int_equal(sh_gate_try(&gate, "10.0.0.2", gate.code, 99.0, &verdict), SH_OK);
    assert_false(sh_gate_is_known(&gate, first.token, 99.0)); /* unused for longest */
    assert_true(sh_gate_is_known(&gate, verdict.token, 99.0));
}

static void test_without_random_numbers_nobody_comes_in(void **state)
{
    struct sh_gate gate;
    struct sh_gate_verdict verdict;
    uint32_t next = 0;
    const struct sh_secret_source broken = {give_none, NULL};
    assert_int_equal(sh_gate_init(&gate, &broken), SH_ERR_IO);
    open_gate(&gate, &next);
    gate.source = broken;
    assert_int_equal(sh_gate_try(&gate, "10.0.0.2", gate.code, 0.0, &verdict), SH_ERR_IO);
    assert_int_not_equal(verdict.answer, SH_GATE_ADMITTED);
}

static void test_secrets_compare_whole(void **state)
{
    assert_true(sh_secret_is_same("123456", "123456"));
    assert_false(sh_secret_is_same("123456", "123457"));
    assert_false(sh_secret_is_same("123456", "12345"));
    assert_false(sh_secret_is_same("123456", "123456123456"));
    assert_false(sh_secret_is_same("123456", ""));
    assert_false(sh_secret_is_same("", "1"));
}

static void test_codes_of_the_system_spread(void **state)
{
    const struct sh_secret_source source = sh_secret_source_default();
    unsigned n_low = 0;
    for (int i = 0; i < 1000; i++) {
        char code[SH_SECRET_CODE_BYTES];
        assert_int_equal(sh_secret_make_code(&source, code), SH_OK);
        n_low += code[0] < '5';
    }
    assert_in_range(n_low, 400, 600); /* 6.3 standard deviations each way */
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_right_code_gives_a_token_that_is_known),
        cmocka_unit_test(test_token_ends_when_it_is_not_used),
        cmocka_unit_test(test_wrong_codes_wait_longer_and_longer),
        cmocka_unit_test(test_one_who_is_wrong_does_not_hold_up_another),
        cmocka_unit_test(test_many_addresses_wear_out_a_code),
        cmocka_unit_test(test_more_addresses_than_places_make_no_free_tries),
        cmocka_unit_test(test_sessions_have_a_bound),
        cmocka_unit_test(test_without_random_numbers_nobody_comes_in),
        cmocka_unit_test(test_secrets_compare_whole),
        cmocka_unit_test(test_codes_of_the_system_spread),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
