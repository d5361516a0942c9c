/* worked.c - the verbs that need no plan: options of `rate` and `maintenance WEIGHT` handed over. */
#include <string.h>

#include "daydrip/status.h"
#include "maintenance.h"
#include "rate.h"
#include "verbs.h"

int dd_worked_verb(const dd_words *words, dd_bytes *out, dd_bytes *err)
{
    char *const *value = words->value;
    const char *format = value[DD_OPTION_FORMAT];
    if (format && strcmp(format, "text") != 0 && strcmp(format, "csv") != 0)
        return dd_words_wrong(err, words, "--format \"%.60s\": expected text or csv", format);
    bool csv = format && strcmp(format, "csv") == 0;
    if (words->verb == DD_VERB_MAINTENANCE) {
        if (words->rest_count != 1)
            return dd_words_wrong(err, words, "say one weight, such as 18.5kg");
        return dd_maintenance_run(&(dd_maintenance_words){.weight = words->rest[0], .csv = csv}, out, err);
    }
    if (words->rest_count > 0)
        return dd_words_wrong(err, words, "\"%.60s\" belongs to no option", words->rest[0]);
    return dd_rate_run(
        &(dd_rate_words){
            .volume = value[DD_OPTION_VOLUME],
            .over = value[DD_OPTION_OVER],
            .rate = value[DD_OPTION_RATE],
            .set = value[DD_OPTION_SET],
            .weight = value[DD_OPTION_WEIGHT],
            .strength = value[DD_OPTION_STRENGTH],
            .dose = value[DD_OPTION_DOSE],
            .dose_unit = value[DD_OPTION_DOSE_UNIT],
            .start = value[DD_OPTION_START],
            .given = value[DD_OPTION_GIVEN],
            .left = value[DD_OPTION_LEFT],
            .at = value[DD_OPTION_AT],
            .fluid = value[DD_OPTION_FLUID],
            .csv = csv,
        },
        out, err);
}
