/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Prints the samples of every trace of a miniSEED file, one a line, under a head of comments.
 * Made values/chile.txt out of examples/test.mseed of Debian's libmseed-doc. Not part of the
 * build (the values are kept); to run it again:
 *     apt-get install libmseed-dev libmseed-doc
 *     cc -o extract_mseed extract_mseed.c -lmseed && ./extract_mseed test.mseed
 */
#include <stdio.h>

#include <libmseed.h>

int main(int argc, char **argv)
{
    MSTraceGroup *group = NULL;
    if (argc != 2 || ms_readtraces(&group, argv[1], 0, -1.0, -1.0, 0, 0, 1, 0) != MS_NOERROR) {
        fprintf(stderr, "usage: extract_mseed FILE (a miniSEED file)\n");
        return 1;
    }
    for (MSTrace *trace = group->traces; trace != NULL; trace = trace->next) {
        char start[30];
        ms_hptime2isotimestr(trace->starttime, start, 1);
        printf("# trace: %s.%s.%s.%s from %s at %g Hz\n", trace->network, trace->station,
               trace->location, trace->channel, start, trace->samprate);
        printf("array counts %lld\n", (long long)trace->numsamples);
        const int *samples = trace->datasamples;
        for (long long i = 0; i < trace->numsamples && trace->sampletype == 'i'; i++) {
            printf("%d\n", samples[i]);
        }
    }
    mst_freegroup(&group);
    return 0;
}
