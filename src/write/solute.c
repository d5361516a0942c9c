#include "solute.h"

#include "names.h"
#include "sheet.h"

const char *dd_solute_name(size_t member)
{
    static const char *const names[DD_MEMBERS] = {"sodium", "potassium", "chloride", "calcium", "magnesium", "phosphate",
                                                          "lactate", "acetate", "bicarbonate", "glucose", "osmolarity"};
    return names[member];
}

const char *dd_solute_unit(size_t member)
{
    return member == DD_MEMBER_GLUCOSE ? "g" : member == DD_MEMBER_OSMOLARITY ? "mOsm" : "mmol";
}

dd_ratio dd_solute_scaled(dd_ratio value)
{
    dd_ratio scaled = {0, 0};
    if (value.den && dd_ratio_over(value, (dd_ratio){1000000, 1}, &scaled) != DD_OK)
        scaled = (dd_ratio){0, 0};
    return scaled;
}

dd_ratio dd_solute_of(const dd_composition *has, size_t member)
{
    int64_t value = dd_catalogue_member(has, member);
    return value == DD_UNKNOWN ? (dd_ratio){0, 0} : dd_solute_scaled((dd_ratio){value, 1});
}

void dd_solute_number(dd_bytes *out, dd_ratio value, dd_style style)
{
    char text[DD_NUMBER_MAX];
    if (value.den == 0)
        dd_bytes_char(out, '?');
    else
        dd_bytes_add(out, text, dd_number_ratio(text, value, 3, style));
}

void dd_solute_exact(dd_bytes *out, dd_ratio value, const char *unit)
{
    if (value.den && 1000 % value.den != 0)
        dd_bytes_form(out, "about%c", DD_SHEET_KEEP);
    dd_solute_number(out, value, DD_STYLE_PERSON);
    if (value.den) {
        dd_bytes_char(out, DD_SHEET_KEEP);
        dd_bytes_text(out, unit);
    }
}

const char *dd_solute_form(unsigned glucose_form)
{
    static const char *const forms[] = {"", "anhydrous", "monohydrate", "not stated"};
    return glucose_form <= DD_GLUCOSE_NOT_STATED ? forms[glucose_form] : "";
}

/* One of a list: its name, but that of the osmolarity, whose unit says it. */
static void add_member(dd_bytes *out, size_t i, bool *first, dd_ratio value, const char *unit)
{
    dd_bytes_text(out, *first ? "" : ", ");
    *first = false;
    if (i != DD_MEMBER_OSMOLARITY || value.den == 0) {
        dd_bytes_text(out, dd_solute_name(i));
        dd_bytes_char(out, DD_SHEET_KEEP);
    }
    dd_solute_exact(out, value, unit);
}

void dd_solute_fluid(dd_bytes *out, const dd_fluid *fluid)
{
    static const char *const per_litre[] = {"mmol/L", "g/L", "mOsm/L"};
    bool first = true;
    for (size_t i = 0; i < DD_MEMBERS; i++) {
        dd_ratio value = dd_solute_of(&fluid->has, i);
        if (value.den && value.num == 0 && i != DD_MEMBER_OSMOLARITY)
            continue;
        add_member(out, i, &first, value, per_litre[i < DD_MEMBER_GLUCOSE ? 0 : i - DD_MEMBER_GLUCOSE + 1]);
        if (i == DD_MEMBER_GLUCOSE && value.den) {
            dd_bytes_form(out, "%c(", DD_SHEET_KEEP);
            if (fluid->glucose_form == DD_GLUCOSE_NOT_STATED)
                dd_bytes_form(out, "form%cnot%cstated)", DD_SHEET_KEEP, DD_SHEET_KEEP);
            else
                dd_bytes_form(out, "%s)", dd_solute_form(fluid->glucose_form));
        }
    }
}

dd_ratio dd_solute_brings(const dd_additive *additive, size_t member)
{
    dd_ratio brings;
    return dd_ratio_make(dd_catalogue_brings(additive, member), additive->of, &brings) == DD_OK ? brings : (dd_ratio){0, 0};
}

void dd_solute_additive(dd_bytes *out, const dd_additive *additive)
{
    bool first = true;
    dd_bytes_text(out, additive->grams ? "1 g brings " : "1 mmol brings ");
    for (size_t i = 0; i < DD_MEMBERS; i++)
        if (dd_catalogue_brings(additive, i))
            add_member(out, i, &first, dd_solute_brings(additive, i), dd_solute_unit(i));
}

void dd_solute_evidence(dd_bytes *out, unsigned evidence)
{
    dd_bytes_text(out, evidence == DD_EV_MEMORY ? "; from memory" : "");
}
