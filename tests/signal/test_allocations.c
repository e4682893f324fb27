/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Every opener of the stage, with each of its allocations failing in turn. */
#include <stdbool.h>

#include <fftw3.h>

#include "signal/decimate.h"
#include "signal/envelope.h"
#include "signal/fft.h"
#include "signal/gauss.h"
#include "signal/multitaper.h"
#include "signal/ringing.h"
#include "signal/welch.h"
#include "support/cmocka_all.h"
#include "support/scarce_heap.h"

/* FFTW's allocations of the stage come here (--wrap) and count as the others. */
/* NOLINTBEGIN(bugprone-reserved-identifier,cert-dcl37-c,readability-identifier-naming) */
void *__real_fftw_malloc(size_t n_bytes);
void *__wrap_fftw_malloc(size_t n_bytes);

void *__wrap_fftw_malloc(size_t n_bytes)
{
    return scarce_heap_fails_now() ? NULL : __real_fftw_malloc(n_bytes);
}
/* NOLINTEND(bugprone-reserved-identifier,cert-dcl37-c,readability-identifier-naming) */

enum opener { DECIMATE, ENVELOPE, FFT, GAUSS, MULTITAPER, RINGING, WELCH, OPENERS };

union object {
    void *any;
    struct sh_decimate *decimate;
    struct sh_envelope *envelope;
    struct sh_fft *fft;
    struct sh_gauss *gauss;
    struct sh_multitaper *multitaper;
    struct sh_ringing *ringing;
    struct sh_welch *welch;
};

static enum sh_status
open_object(enum opener opener, union object *object, struct sh_error *err)
{
    const struct sh_multitaper_config multitaper = sh_multitaper_config_default();
    const struct sh_ringing_config ringing = sh_ringing_config_default();
    const struct sh_welch_config welch = {64, 32, true};
    switch (opener) {
    case DECIMATE:
        return sh_decimate_open(1000.0, 200.0, &object->decimate, err);
    case ENVELOPE:
        return sh_envelope_open(100, &object->envelope, err);
    case FFT:
        return sh_fft_open(100, &object->fft, err);
    case GAUSS:
        return sh_gauss_open(10.0, &object->gauss, err);
    case MULTITAPER:
        return sh_multitaper_open(&multitaper, &object->multitaper, err);
    case RINGING:
        return sh_ringing_open(&ringing, &object->ringing, err);
    case WELCH:
        return sh_welch_open(&welch, &object->welch, err);
    case OPENERS:
    default:
        return SH_ERR_ARGUMENT;
    }
}

static void close_object(enum opener opener, union object *object)
{
    switch (opener) {
    case DECIMATE:
        sh_decimate_close(&object->decimate);
        break;
    case ENVELOPE:
        sh_envelope_close(&object->envelope);
        break;
    case FFT:
        sh_fft_close(&object->fft);
        break;
    case GAUSS:
        sh_gauss_close(&object->gauss);
        break;
    case MULTITAPER:
        sh_multitaper_close(&object->multitaper);
        break;
    case RINGING:
        sh_ringing_close(&object->ringing);
        break;
    case WELCH:
        sh_welch_close(&object->welch);
        break;
    case OPENERS:
    default:
        break;
    }
}

/* Opens with allocation number n_before failing; true where all went well. */
static bool open_with_failure(enum opener opener, size_t n_before)
{
    union object object = {NULL};
    struct sh_error err = {0};
    scarce_heap_begin(n_before);
    enum sh_status status = open_object(opener, &object, &err);
    (void)scarce_heap_end();
    if (status == SH_OK) {
        close_object(opener, &object);
        return true;
    }
    assert_int_equal(status, SH_ERR_MEMORY);
    assert_int_equal(err.status, SH_ERR_MEMORY);
    assert_null(object.any);
    return false;
}

static void test_each_failure(void **state)
{
    const size_t expected[OPENERS] = {1, 6, 3, 1, 12, 5, 11};
    for (enum opener opener = DECIMATE; opener < OPENERS; opener++) {
        size_t n_failures = 0;
        while (!open_with_failure(opener, n_failures)) {
            n_failures++;
        }
        print_message("opener %d: %zu allocations failed in turn\n", (int)opener, n_failures);
        assert_int_equal(n_failures, expected[opener]);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_each_failure),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
