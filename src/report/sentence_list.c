/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/sentence_list.h"

#include "report/shot_json.h"

enum sh_status sh_sentence_list_take(void *context, const char *sentence)
{
    const struct sh_sentence_list *sentences = context;
    if (json_array_append_new(sentences->list, sh_shot_json_make_string(sentence)) != 0) {
        sh_json_put_fail(sentences->put, SH_ERR_MEMORY, "sentences");
    }
    return sentences->put->status;
}
