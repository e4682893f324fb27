/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/workspace.h"

#include <math.h>
#include <string.h>

#include "support/cmocka_all.h"
#include "support/near.h"

static struct sh_workspace_config two_streams(void)
{
    struct sh_workspace_config config = sh_workspace_config_default();
    config.n_streams = 2;
    config.rate_hz[0] = 80.0;
    config.rate_hz[1] = 3200.0;
    config.hold_max_s = 10.0;
    return config;
}

static void test_opens_for_all_streams(void **state)
{
    const struct sh_workspace_config config = two_streams();
    struct sh_workspace *workspace = NULL;
    assert_int_equal(sh_workspace_open(&config, &workspace, NULL), SH_OK);
    assert_int_equal(workspace->n_scratch, 32001);
    assert_near(sh_decimate_get_rate(workspace->decimate[0]), 80.0, 0.0, 1e-12);
    assert_near(sh_decimate_get_rate(workspace->decimate[1]), 200.0, 0.0, 1e-12);
    sh_workspace_close(&workspace);
    assert_null(workspace);
    sh_workspace_close(&workspace);
    sh_workspace_close(NULL);
}

static void check_refused(const struct sh_workspace_config *config, const char *what)
{
    struct sh_workspace *workspace = NULL;
    struct sh_error err = {0};
    assert_int_equal(sh_workspace_open(config, &workspace, &err), SH_ERR_ARGUMENT);
    assert_null(workspace);
    assert_non_null(strstr(err.what, what));
}

static void test_settings_out_of_range_are_refused(void **state)
{
    struct sh_workspace_config config = two_streams();
    config.n_streams = 0;
    check_refused(&config, "0 streams");
    config.n_streams = SH_STREAMS_MAX + 1u;
    check_refused(&config, "9 streams");
    config = two_streams();
    config.rate_hz[1] = 0.999;
    check_refused(&config, "stream 1 has a rate of 0.999");
    config.rate_hz[1] = 100001.0;
    check_refused(&config, "stream 1");
    config.rate_hz[1] = (double)NAN;
    check_refused(&config, "stream 1");
    config = two_streams();
    config.hold_max_s = 0.99;
    check_refused(&config, "longest hold of 0.99");
    config.hold_max_s = 80.1;
    check_refused(&config, "longest hold of 80.1");
}

static void test_settings_at_their_limits_are_taken(void **state)
{
    struct sh_workspace_config config = two_streams();
    struct sh_workspace *workspace = NULL;
    config.rate_hz[0] = 1.0;
    config.rate_hz[1] = SH_WORKSPACE_RATE_MAX_HZ;
    config.hold_max_s = 1.0;
    assert_int_equal(sh_workspace_open(&config, &workspace, NULL), SH_OK);
    sh_workspace_close(&workspace);
    config = two_streams();
    config.hold_max_s = SH_WORKSPACE_HOLD_MAX_S;
    assert_int_equal(sh_workspace_open(&config, &workspace, NULL), SH_OK);
    sh_workspace_close(&workspace);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_opens_for_all_streams),
        cmocka_unit_test(test_settings_out_of_range_are_refused),
        cmocka_unit_test(test_settings_at_their_limits_are_taken),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
