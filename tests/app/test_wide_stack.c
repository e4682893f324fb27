/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/wide_stack.h"

#include <pthread.h>
#include <string.h>

#include "support/cmocka_all.h"

#define MUCH_BYTES 4000000u

static void use_much(void *context)
{
    volatile unsigned char much[MUCH_BYTES];
    unsigned long *sum = context;
    for (size_t i = 0; i < MUCH_BYTES; i += 4096) {
        much[i] = 1;
    }
    for (size_t i = 0; i < MUCH_BYTES; i += 4096) {
        *sum += much[i];
    }
}

static void *call_it(void *context)
{
    return sh_wide_stack_run(use_much, context) == SH_OK ? context : NULL;
}

/* From a thread whose own stack is as small as the HTTP library's. */
static void test_small_thread_does_large_work(void **state)
{
    pthread_attr_t attributes;
    pthread_t thread;
    unsigned long sum = 0;
    void *answer = NULL;
    assert_int_equal(pthread_attr_init(&attributes), 0);
    assert_int_equal(pthread_attr_setstacksize(&attributes, 102400), 0);
    assert_int_equal(pthread_create(&thread, &attributes, call_it, &sum), 0);
    assert_int_equal(pthread_join(thread, &answer), 0);
    assert_int_equal(pthread_attr_destroy(&attributes), 0);
    assert_ptr_equal(answer, &sum);
    assert_int_equal(sum, (MUCH_BYTES + 4095) / 4096);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_small_thread_does_large_work)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
