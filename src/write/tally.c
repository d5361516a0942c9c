#include "tally.h"

#include "phrase.h"
#include "whole.h"

void dd_tally_add(dd_tally *to, int64_t u, int64_t printed_ul, bool spoilt)
{
    bool fits = dd_whole_plus(to->u, u, &to->u) && dd_whole_plus(to->printed_ul, printed_ul, &to->printed_ul);
    to->spoilt |= spoilt || !fits; /* it cannot but fit: a week of 100 L an hour is 6e13 u */
}

void dd_tally_cell(dd_grid *g, const dd_patient *p, const dd_tally *value, bool blank, dd_bytes *text)
{
    dd_phrase_start(text);
    if (value->u != 0 || !blank)
        dd_phrase_volume(text, p, (dd_u){value->u});
    if (value->spoilt)
        dd_bytes_char(text, '?');
    dd_grid_cell(g, dd_phrase_text(text));
}

void dd_tally_rounding(dd_sheet *s, const dd_patient *p, const dd_tally *column, const char *name, dd_bytes *text)
{
    char number[DD_NUMBER_MAX];
    int64_t shown_ul = dd_phrase_shown(p, (dd_u){column->u});
    if (shown_ul == column->printed_ul)
        return;
    dd_phrase_start(text);
    dd_bytes_text(text, "Printed rows of ");
    dd_bytes_text(text, name);
    dd_bytes_text(text, " make ");
    dd_bytes_add(text, number, dd_number_scaled(number, column->printed_ul, 3, 3, DD_STYLE_PERSON));
    dd_bytes_text(text, ", the sum is ");
    dd_bytes_add(text, number, dd_number_scaled(number, shown_ul, 3, 3, DD_STYLE_PERSON));
    dd_bytes_text(text, ": rounding.");
    dd_sheet_text(s, 1, 2, dd_phrase_text(text));
}
