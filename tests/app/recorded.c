/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/recorded.h"

#include "app/sensor_file.h"
#include "recording/recording_writer.h"
#include "support/cmocka_all.h"

void recorded_write(const struct sh_simulation_config *config, const char *folder)
{
    struct sh_simulation simulation;
    struct sh_recording_writer_config writing = sh_recording_writer_config_default();
    struct sh_recording_writer *writer = NULL;
    struct sh_error err = {0};
    writing.is_synced = false;
    assert_int_equal(sh_simulation_open(config, &simulation, &err), SH_OK);
    assert_int_equal(
        sh_recording_writer_open(folder, simulation.session, &writing, &writer, &err), SH_OK);
    const struct sh_block_sink sink = sh_recording_writer_sink(writer);
    sensor_file_sample(&simulation, &sink);
    assert_int_equal(sh_recording_writer_finish(writer, false, &err), SH_OK);
    sh_recording_writer_close(&writer);
    sh_simulation_close(&simulation);
}
