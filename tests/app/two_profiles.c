/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/two_profiles.h"

#include <string.h>

const char two_profiles_string[] = "[sensor]\n"
                                   "name = string gauge\n"
                                   "framing = text\n"
                                   "port = /dev/kiln\n"
                                   "[stream string]\n"
                                   "rate_hz = 1000\n"
                                   "[column 1]\n"
                                   "role = string_force\n"
                                   "scale = 0.0125\n";
const char two_profiles_bow[] = "[sensor]\n"
                                "framing = text\n"
                                "[stream bow]\n"
                                "rate_hz = 3200\n"
                                "[column 1]\n"
                                "role = bow_acceleration\n"
                                "axis = x\n"
                                "scale = 0.04\n";

void two_profiles_open(struct two_profiles *profiles)
{
    scratch_open(&profiles->scratch);
    scratch_path(&profiles->scratch, "string.ini", profiles->string);
    scratch_path(&profiles->scratch, "bow.ini", profiles->bow);
    scratch_write(profiles->string, two_profiles_string, strlen(two_profiles_string));
    scratch_write(profiles->bow, two_profiles_bow, strlen(two_profiles_bow));
}

void two_profiles_close(struct two_profiles *profiles)
{
    scratch_close(&profiles->scratch);
}
