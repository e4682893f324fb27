/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/wide_stack.h"

#include <pthread.h>
#include <stddef.h>

struct job {
    void (*work)(void *context);
    void *context;
};

static void *run_job(void *context)
{
    const struct job *job = context;
    job->work(job->context);
    return NULL;
}

enum sh_status sh_wide_stack_run(void (*work)(void *context), void *context)
{
    pthread_attr_t attributes;
    pthread_t thread;
    struct job job = {work, context};
    if (pthread_attr_init(&attributes) != 0) {
        return SH_ERR_MEMORY;
    }
    int failure = pthread_attr_setstacksize(&attributes, SH_WIDE_STACK_BYTES);
    failure = failure == 0 ? pthread_create(&thread, &attributes, run_job, &job) : failure;
    (void)pthread_attr_destroy(&attributes);
    if (failure != 0) {
        return SH_ERR_MEMORY;
    }
    (void)pthread_join(thread, NULL);
    return SH_OK;
}
