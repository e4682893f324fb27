/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Gives a fuzz target every file of the folders named on the command line, once. */
#include <dirent.h>
#include <stdbool.h>
#include <string.h>

#include "fuzz/fuzz.h"

#define INPUT_BYTES_MAX (1u << 20)

/* The input lies at the end of its own allocation, so that a read beyond it is found. */
static bool replay_file(const char *path)
{
    FILE *file = fopen(path, "rbe");
    uint8_t *room = malloc(INPUT_BYTES_MAX);
    uint8_t *input = NULL;
    bool is_done = false;
    if (file != NULL && room != NULL) {
        size_t n = fread(room, 1, INPUT_BYTES_MAX, file);
        input = malloc(n > 0 ? n : 1);
        if (ferror(file) == 0 && feof(file) != 0 && input != NULL) {
            memcpy(input, room, n);
            (void)LLVMFuzzerTestOneInput(input, n);
            is_done = true;
        }
    }
    if (!is_done) {
        (void)fprintf(stderr, "%s: cannot be read\n", path);
    }
    if (file != NULL) {
        (void)fclose(file);
    }
    free(input);
    free(room);
    return is_done;
}

static size_t replay_folder(const char *folder)
{
    size_t n_files = 0;
    DIR *listing = opendir(folder);
    for (const struct dirent *entry = NULL;
         listing != NULL && (entry = readdir(listing)) != NULL;) {
        char path[4096];
        (void)snprintf(path, sizeof path, "%s/%s", folder, entry->d_name);
        if (entry->d_name[0] != '.') {
            n_files += replay_file(path) ? 1 : 0;
        }
    }
    if (listing != NULL) {
        (void)closedir(listing);
    }
    (void)printf("%s: %zu inputs\n", folder, n_files);
    return n_files;
}

int main(int argc, char **argv)
{
    bool is_good = argc > 1;
    for (int i = 1; i < argc; i++) {
        is_good = replay_folder(argv[i]) > 0 && is_good;
    }
    return is_good ? EXIT_SUCCESS : EXIT_FAILURE;
}
