#include "verbs.h"
int dd_worked_verb(const dd_words *words, dd_bytes *out, dd_bytes *err)
{
    (void)out;
    return dd_words_wrong(err, words, "not yet");
}
