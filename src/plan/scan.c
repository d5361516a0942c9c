#include "scan.h"

#include <stdio.h>
#include <string.h>

#include "desk.h"

static void say(dd_scan_fault *fault, dd_message_id id, const char *first, const char *second)
{
    fault->id = id;
    snprintf(fault->first, sizeof fault->first, "%s", first);
    snprintf(fault->second, sizeof fault->second, "%s", second);
}

/* `N14` as `14 digits`, `X..20` as `1 to 20 characters`. */
static const char *length_words(char out[80], const char *format)
{
    const char *of = format[0] == 'N' ? "digits" : "characters";
    if (strpbrk(format, "+["))
        snprintf(out, 80, "data of the form %s", format);
    else
        snprintf(out, 80, format[1] == '.' ? "1 to %s %s" : "%s %s", format + (format[1] == '.' ? 3 : 1), of);
    return out;
}

static const char *set_words(const char *format)
{
    return strpbrk(format, "X") ? "letters from A to Z, digits and marks, no blanks" : format[0] == 'Y' ? "capitals, digits and # - /" : "digits";
}

static void explain(dd_gs1_fault found, const dd_gs1 *code, dd_scan_fault *fault)
{
    char words[80], digit[2] = {code->check, '\0'};
    switch (found) {
    case DD_GS1_FINE: case DD_GS1_FORM: say(fault, DD_MSG_CODE_FORM, "", ""); return;
    case DD_GS1_EXPONENT: say(fault, DD_MSG_CODE_EXPONENT, "", ""); return;
    case DD_GS1_SYMBOL: say(fault, DD_MSG_CODE_SYMBOL, "", ""); return;
    case DD_GS1_UNKNOWN: say(fault, DD_MSG_CODE_UNKNOWN, code->ai, ""); return;
    case DD_GS1_LENGTH: say(fault, DD_MSG_CODE_LENGTH, code->ai, length_words(words, code->format)); return;
    case DD_GS1_CHARACTER: say(fault, DD_MSG_CODE_CHARACTER, code->ai, set_words(code->format)); return;
    case DD_GS1_CHECK: say(fault, DD_MSG_CODE_CHECK, code->ai, digit); return;
    case DD_GS1_DATE: say(fault, DD_MSG_CODE_DATE, code->ai, strcmp(code->ai, "7003") == 0 || strcmp(code->ai, "8008") == 0 ? "a date and clock" : "a date"); return;
    case DD_GS1_TWICE: say(fault, DD_MSG_CODE_TWICE, code->ai, ""); return;
    }
}

static bool copy(dd_arena *arena, const char *data, const char **out)
{
    *out = data ? dd_arena_text(arena, data, strlen(data)) : NULL;
    return !data || *out;
}

const dd_scan_fault *dd_scan_code(const char *text, size_t length, const dd_zone *zone, int year, dd_arena *arena, dd_stock *out, dd_scan_fault *fault)
{
    dd_gs1 code;
    dd_gs1_fault found = dd_gs1_read(text, length, year, &code);
    if (found != DD_GS1_FINE) {
        explain(found, &code, fault);
        return fault;
    }
    out->code_expires = zone ? dd_gs1_expires(&code, zone) : DD_NEVER;
    out->code_volume_ul = dd_gs1_volume(&code);
    if (copy(arena, dd_gs1_data(&code, "01"), &out->gtin) && copy(arena, dd_gs1_data(&code, "10"), &out->code_lot)
        && copy(arena, dd_gs1_data(&code, "21"), &out->serial))
        return NULL;
    fault->id = DD_MSG_COUNT;
    return fault;
}

int dd_scan_year(const dd_plan *plan)
{
    return plan->zone ? dd_moment_local(plan->zone, plan->begins).year : 2000; /* without a zone nothing is planned */
}

void dd_scan_row(dd_folder *f, dd_sheet *s, uint32_t patient, dd_stock *out)
{
    *out = (dd_stock){.line_of_file = s->row.line, .order = -1, .expires = DD_NEVER, .code_expires = DD_NEVER, .volume_ul = DD_UNKNOWN,
                      .code_volume_ul = DD_UNKNOWN};
    (void)dd_desk_order(f, s, DD_COL_BAGS_ORDER, patient, &out->order);
    if (dd_cells_copy(s, DD_COL_BAGS_CODE, &out->code, &f->no_memory) && out->code) {
        dd_scan_fault fault;
        if (dd_scan_code(out->code, strlen(out->code), f->clock, dd_scan_year(&f->plan), f->arena, out, &fault)) {
            f->no_memory = f->no_memory || fault.id == DD_MSG_COUNT;
            if (fault.id != DD_MSG_COUNT)
                dd_table_fault(s, DD_COL_BAGS_CODE, fault.id, out->code, fault.first, fault.second);
        }
    }
    (void)dd_cells_copy(s, DD_COL_BAGS_LOT, &out->lot, &f->no_memory);
    (void)dd_cells_date(s, DD_COL_BAGS_EXPIRES, f->clock, &out->expires);
    (void)dd_cells_volume(s, DD_COL_BAGS_VOLUME, &out->volume_ul);
}
