/* fuzz_code.c - a scanned code: a year in two bytes, then the element string. What is read, written with brackets, must read the same. */
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "daydrip/quantity.h"
#include "gs1.h"
#include "must.h"

static void again(const dd_gs1 *code)
{
    char text[2 * DD_GS1_MOST];
    dd_gs1 twice;
    size_t n = 0;
    for (size_t i = 0; i < code->count; i++)
        if (strpbrk(code->text + code->parts[i].at, "()"))
            return; /* brackets in the data cannot be told from those round identifiers */
    for (size_t i = 0; i < code->count; i++)
        n += (size_t)snprintf(text + n, sizeof text - n, "(%s)%s", code->parts[i].ai, code->text + code->parts[i].at);
    if (n > DD_GS1_MOST)
        return; /* the brackets make it longer than a code may be */
    must(dd_gs1_read(text, n, code->year, &twice) == DD_GS1_FINE, "it reads with brackets");
    must(twice.count == code->count, "the same number of identifiers");
    for (size_t i = 0; i < code->count; i++)
        must(strcmp(twice.parts[i].ai, code->parts[i].ai) == 0 && strcmp(twice.text + twice.parts[i].at, code->text + code->parts[i].at) == 0, "the same data");
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static const dd_zone_span utc_span = {0, 0};
    static const dd_zone utc = {.spans = &utc_span, .count = 1};
    if (size < 2)
        return 0;
    int year = 1 + (data[0] * 256 + data[1]) % 9999;
    char *copy = malloc(size - 2 ? size - 2 : 1); /* of its own, so that reading behind its end is seen */
    must(copy, "memory");
    memcpy(copy, data + 2, size - 2);
    dd_gs1 code;
    dd_gs1_is_exponent(copy, size - 2);
    dd_gs1_fault fault = dd_gs1_read(copy, size - 2, year, &code);
    free(copy);
    if (fault != DD_GS1_FINE)
        return 0;
    must(code.count > 0 && code.count <= DD_GS1_PARTS, "identifiers");
    for (size_t i = 0; i < code.count; i++) {
        dd_civil date;
        if (dd_gs1_date(&code, &code.parts[i], &date))
            must(date.month >= 1 && date.month <= 12 && date.day >= 1 && date.day <= 31 && date.year >= year - 49 && date.year <= year + 50, "a date");
        must(dd_gs1_words(&code.parts[i]) != NULL && dd_gs1_data(&code, code.parts[i].ai) != NULL, "words and data");
    }
    dd_gs1_expires(&code, &utc);
    dd_gs1_clock(&code, &utc);
    int64_t volume = dd_gs1_volume(&code);
    must(volume == DD_UNKNOWN || volume > 0, "a volume");
    again(&code);
    return 0;
}
