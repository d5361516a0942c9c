#include "schema.h"

#include <string.h>

#include "column.h"

#define KEY_PATTERN "^[A-Za-z0-9][A-Za-z0-9._-]{0,39}$"

static void text(dd_bytes *out, const char *s)
{
    dd_bytes_char(out, '"');
    for (; *s; s++) {
        if (*s == '"' || *s == '\\')
            dd_bytes_char(out, '\\');
        dd_bytes_char(out, *s);
    }
    dd_bytes_char(out, '"');
}

/* A list of words as JSON texts. */
static void words(dd_bytes *out, const char *list)
{
    dd_bytes_char(out, '[');
    for (const char *p = list; *p;) {
        size_t length = strcspn(p, " ");
        if (p != list)
            dd_bytes_text(out, ", ");
        dd_bytes_char(out, '"');
        dd_bytes_add(out, p, length);
        dd_bytes_char(out, '"');
        p += length + (p[length] == ' ');
    }
    dd_bytes_char(out, ']');
}

/* Cells carry their units and several forms of time, so all but counts are strings to other programs; the description says how
 * they are written. */
static void field(dd_bytes *out, const dd_column *c)
{
    dd_bytes_text(out, "          {\"name\": ");
    text(out, c->name);
    dd_bytes_form(out, ", \"type\": \"%s\", \"description\": ", c->type == DD_TYPE_COUNT ? "integer" : "string");
    dd_bytes about = DD_BYTES(4096);
    dd_bytes_form(&about, "%s; written as %s", c->about, c->expected);
    text(out, about.data ? about.data : "");
    out->failed |= about.failed;
    dd_bytes_free(&about);
    dd_bytes_form(out, ", \"constraints\": {\"required\": %s", c->required ? "true" : "false");
    if (c->type == DD_TYPE_COUNT)
        dd_bytes_text(out, ", \"minimum\": 1");
    else
        dd_bytes_form(out, ", \"maxLength\": %lu", (unsigned long)c->most);
    if (c->type == DD_TYPE_WORD) {
        dd_bytes_text(out, ", \"enum\": ");
        words(out, c->words);
    }
    if (c->type == DD_TYPE_KEY) {
        dd_bytes_text(out, ", \"pattern\": ");
        text(out, KEY_PATTERN);
    }
    dd_bytes_text(out, "}}");
}

static void reference(dd_bytes *out, const char *fields, const char *to, const char *to_fields, bool *any)
{
    dd_bytes_text(out, *any ? ",\n          " : ",\n        \"foreignKeys\": [\n          ");
    *any = true;
    dd_bytes_text(out, "{\"fields\": ");
    words(out, fields);
    dd_bytes_text(out, ", \"reference\": {\"resource\": ");
    text(out, to);
    dd_bytes_text(out, ", \"fields\": ");
    words(out, to_fields);
    dd_bytes_text(out, "}}");
}

static bool has(const dd_table_shape *t, const char *name)
{
    for (size_t i = 0; i < t->count; i++)
        if (strcmp(dd_column_list[t->first + i].name, name) == 0)
            return true;
    return false;
}

/* Which rows of other tables a row names. */
static void references(dd_bytes *out, int table)
{
    const dd_table_shape *t = dd_column_table((dd_table)table);
    bool any = false;
    if (table != DD_TABLE_PATIENTS && has(t, "patient"))
        reference(out, "patient", "patients", "patient", &any);
    if (table != DD_TABLE_LINES && has(t, "patient") && has(t, "line"))
        reference(out, "patient line", "lines", "patient line", &any);
    if (table != DD_TABLE_ORDERS && has(t, "patient") && has(t, "order"))
        reference(out, "patient order", "orders", "patient order", &any);
    if (table == DD_TABLE_ORDERS)
        reference(out, "patient replaces", "", "patient order", &any);
    if (table == DD_TABLE_CHART)
        reference(out, "patient strikes", "", "patient entry", &any);
    if (any)
        dd_bytes_text(out, "\n        ]");
}

static void resource(dd_bytes *out, int table)
{
    const dd_table_shape *t = dd_column_table((dd_table)table);
    dd_bytes_form(out, "    {\n      \"name\": \"%s\",\n      \"path\": \"%s.csv\",\n      \"profile\": \"tabular-data-resource\",\n", t->name, t->name);
    dd_bytes_text(out, "      \"description\": ");
    dd_bytes about = DD_BYTES(1024);
    dd_bytes_form(&about, "one row is %s%s", t->about, t->required ? "" : "; the table may be left out");
    text(out, about.data ? about.data : "");
    out->failed |= about.failed;
    dd_bytes_free(&about);
    dd_bytes_text(out, ",\n      \"schema\": {\n        \"fields\": [\n");
    for (size_t i = 0; i < t->count; i++) {
        field(out, &dd_column_list[t->first + i]);
        dd_bytes_text(out, i + 1 < t->count ? ",\n" : "\n");
    }
    dd_bytes_text(out, "        ],\n        \"missingValues\": [\"\"]");
    if (*t->key) {
        dd_bytes_text(out, ",\n        \"primaryKey\": ");
        words(out, t->key);
    }
    references(out, table);
    dd_bytes_text(out, "\n      }\n    }");
}

void dd_schema_write(dd_bytes *out)
{
    static const int order[] = {DD_TABLE_WARD, DD_TABLE_PATIENTS, DD_TABLE_LINES, DD_TABLE_ORDERS, DD_TABLE_CHART, DD_TABLE_PAUSES,
                                DD_TABLE_BAGS, DD_TABLE_FLUIDS, DD_TABLE_RULES, DD_TABLE_APART, DD_TABLE_ACCEPTED};
    const size_t count = sizeof order / sizeof *order;
    dd_bytes_text(out, "{\n  \"profile\": \"tabular-data-package\",\n  \"name\": \"daydrip-plan\",\n  \"resources\": [\n");
    for (size_t i = 0; i < count; i++) {
        resource(out, order[i]);
        dd_bytes_text(out, i + 1 < count ? ",\n" : "\n");
    }
    dd_bytes_text(out, "  ]\n}\n");
}
