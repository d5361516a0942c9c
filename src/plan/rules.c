#include <stdio.h>
#include <string.h>

#include "catalogue.h"
#include "desk.h"
#include "nearest.h"

enum { NONE = DD_SEV_NONE, NOTE = DD_NOTE, WATCH = DD_WATCH, CLARIFY = DD_CLARIFY };
enum { READ = DD_EV_READ, MEMORY = DD_EV_MEMORY, DEFAULT = DD_EV_DEFAULT };

static const struct built_in_rule {
    dd_rule_id id;
    const char *applies, *value, *source, *note;
    uint8_t severity, evidence;
} built_in[] = {
#define RULE(id_, name_, applies_, value_, severity_, evidence_, source_, note_) \
    {DD_RULE_##id_, applies_, value_, source_, note_, severity_, evidence_},
#include "daydrip/rule.def"
};
#define BUILT_IN (sizeof built_in / sizeof *built_in)

/* What each kind takes, and how it is written. */
static const struct kind { unsigned takes; const char *expected; bool range; } kinds[] = {
    [DD_RK_AGE] = {DD_TAKES_AGE, "an age such as 28 days", false},
    [DD_RK_TIME] = {DD_TAKES_TIME, "a time such as 30 min", false},
    [DD_RK_RATE] = {DD_TAKES_RATE, "a rate such as 0.1 mL/h", false},
    [DD_RK_RATE_PER_KG] = {DD_TAKES_RATE_KG, "a rate such as 5 mL/kg/h", false},
    [DD_RK_RATE_PER_KG_RANGE] = {DD_TAKES_RATE_KG, "a range such as 25 to 30 mL/kg/day", true},
    [DD_RK_RATE_PER_KG_OR_OFF] = {DD_TAKES_RATE_KG, "a rate such as 0.5 mL/kg/h, or off", false},
    [DD_RK_VOLUME] = {DD_TAKES_VOLUME, "a volume such as 10 mL", false},
    [DD_RK_VOLUME_OR_PER_KG] = {DD_TAKES_VOLUME | DD_TAKES_VOLUME_KG, "a volume such as 500 mL or 10 mL/kg", false},
    [DD_RK_MASS_RANGE] = {DD_TAKES_MASS, "a range such as 6 to 150 kg", true},
    [DD_RK_CONCENTRATION] = {DD_TAKES_STRENGTH, "an amount per volume such as 40 mmol/L", false},
    [DD_RK_CONCENTRATION_RANGE] = {DD_TAKES_STRENGTH, "a range such as 131 to 154 mmol/L", true},
    [DD_RK_OSMOLARITY] = {DD_TAKES_OSMOLARITY, "an osmolarity such as 900 mOsm/L", false},
    [DD_RK_STRENGTH] = {DD_TAKES_PERCENT, "a strength such as 12.5 %", false},
    [DD_RK_DOSE_RATE] = {DD_TAKES_DOSE_RATE | DD_TAKES_DOSE_DAY, "an amount per time such as 0.2 mmol/kg/h", false},
    [DD_RK_SHARE] = {DD_TAKES_PERCENT, "a share such as 75 %", false},
    [DD_RK_SWITCH] = {0, "on or off", false},
    [DD_RK_FLUID] = {0, "a fluid of the catalogue such as nacl-0.9", false},
};

/* ---- words of `applies` ---- */

static int word_in(const char *list, const char *word, size_t length)
{
    int n = 0;
    for (const char *p = list; *p; n++) {
        size_t size = strcspn(p, " ");
        if (size == length && memcmp(p, word, length) == 0)
            return n;
        p += size + (p[size] == ' ');
    }
    return -1;
}

static const char class_words[] = "neonate infant child adult";
static const char category_words[] = "fluid drug blood nutrition flush feed oral other";

/* Binds one word. Returns the message that is due, or DD_MSG_COUNT. */
static dd_message_id bind_word(const dd_folder *f, dd_rule *rule, const char *word, size_t length)
{
    uint8_t *slot = NULL;
    int n = word_in(class_words, word, length);
    if (n >= 0) {
        slot = &rule->class_word;
    } else if ((n = word_in(dd_column_list[DD_COL_LINES_KIND].words, word, length)) >= 0) {
        slot = &rule->kind_word;
    } else if ((n = word_in(category_words, word, length)) >= 0) {
        slot = &rule->category_word;
    } else {
        const dd_keys_slot *fluid = dd_keys_like(&f->fluid_keys, 0, word, length);
        if (!fluid)
            return DD_MSG_RULE_APPLIES;
        if (rule->fluid)
            return DD_MSG_RULE_APPLIES_TWICE;
        rule->fluid = fluid->key;
        rule->fluid_category = f->fluids[fluid->value].category;
        rule->words++;
        return DD_MSG_COUNT;
    }
    if (*slot != DD_RULE_ANY)
        return DD_MSG_RULE_APPLIES_TWICE;
    *slot = (uint8_t)n;
    rule->words++;
    return DD_MSG_COUNT;
}

/* Binds all words; *bad is the first one that cannot stand, *bad_length its length. */
static dd_message_id bind_words(const dd_folder *f, dd_rule *rule, const char *words, const char **bad, size_t *bad_length)
{
    rule->class_word = rule->kind_word = rule->category_word = DD_RULE_ANY;
    rule->fluid_category = DD_CAT_COUNT;
    for (const char *p = words; *p;) {
        size_t length = strcspn(p, " \t");
        if (length) {
            dd_message_id id = bind_word(f, rule, p, length);
            if (id != DD_MSG_COUNT) {
                *bad = p;
                *bad_length = length;
                return id;
            }
        }
        p += length + (p[length] != '\0');
    }
    rule->rank = (uint8_t)(rule->words * 2 + (rule->fluid != NULL));
    return DD_MSG_COUNT;
}

/* ---- values ---- */

static bool one(const char *text, size_t length, unsigned takes, dd_quantity *out)
{
    return dd_quantity_read(text, length, takes, false, out, NULL) == DD_QF_NONE;
}

/* What is held against such a rule is an ion with one charge: mmol or mEq, never a mass. */
static bool counts_ions(dd_quantity q)
{
    dd_dimension d = dd_quantity_dimension(q.unit);
    return d == DD_DIM_MOLE || d == DD_DIM_CHARGE;
}

/* `25 to 30 mL/kg/day`: the unit is written once, behind the higher one. */
static dd_message_id range(const char *text, unsigned takes, dd_rule *rule)
{
    const char *to = strstr(text, " to ");
    char low[80];
    if (!to)
        return DD_MSG_RULE_VALUE;
    const char *high = to + 4, *unit = high + strspn(high, "0123456789. ");
    int n = snprintf(low, sizeof low, "%.*s %s", (int)(to - text < 40 ? to - text : 40), text, unit);
    if (n < 0 || (size_t)n >= sizeof low || !one(low, (size_t)n, takes, &rule->low) || !one(high, strlen(high), takes, &rule->high))
        return DD_MSG_RULE_VALUE;
    return rule->low.micro > rule->high.micro ? DD_MSG_RULE_RANGE : DD_MSG_COUNT;
}

static dd_message_id read_value(const dd_folder *f, dd_rule *rule, const char *text)
{
    dd_rule_kind kind = dd_rule_names[rule->id].kind;
    const struct kind *k = &kinds[kind];
    rule->on = -1;
    if (kind == DD_RK_SWITCH || (kind == DD_RK_RATE_PER_KG_OR_OFF && strcmp(text, "off") == 0)) {
        rule->on = strcmp(text, "on") == 0;
        return rule->on || strcmp(text, "off") == 0 ? DD_MSG_COUNT : DD_MSG_RULE_VALUE;
    }
    if (kind == DD_RK_FLUID) {
        const dd_keys_slot *fluid = dd_keys_like(&f->fluid_keys, 0, text, strlen(text));
        rule->value_fluid = fluid ? fluid->key : NULL;
        return fluid ? DD_MSG_COUNT : DD_MSG_RULE_VALUE;
    }
    if (rule->at.line == 0 && strcmp(text, "by interval") == 0)
        return DD_MSG_COUNT; /* the built-in bands of dose-window, in orders */
    dd_message_id id = k->range ? range(text, k->takes, rule) : one(text, strlen(text), k->takes, &rule->low) ? DD_MSG_COUNT : DD_MSG_RULE_VALUE;
    bool ions = kind == DD_RK_CONCENTRATION || kind == DD_RK_CONCENTRATION_RANGE;
    return id == DD_MSG_COUNT && ions && !counts_ions(rule->low) ? DD_MSG_RULE_VALUE : id;
}

/* ---- rules.csv ---- */

static bool find_name(dd_sheet *s, const char *name, size_t length, uint8_t *id)
{
    dd_nearest nearest = dd_nearest_begin(name, length);
    for (size_t i = 0; i < DD_RULE_COUNT; i++) {
        if (strlen(dd_rule_names[i].name) == length && memcmp(dd_rule_names[i].name, name, length) == 0) {
            *id = (uint8_t)i;
            return true;
        }
        dd_nearest_offer(&nearest, dd_rule_names[i].name, strlen(dd_rule_names[i].name));
    }
    dd_table_fault(s, DD_COL_RULES_RULE, DD_MSG_RULE_UNKNOWN, name, nearest.best ? nearest.best : "a rule that the command rules lists", NULL);
    return false;
}

static bool read_applies(dd_folder *f, dd_sheet *s, dd_rule *rule)
{
    const char *bad = NULL;
    size_t length = 0;
    if (!dd_cells_copy(s, DD_COL_RULES_APPLIES, &rule->applies, &f->no_memory))
        return false;
    if (!rule->applies)
        rule->applies = "";
    dd_message_id id = bind_words(f, rule, rule->applies, &bad, &length);
    if (id == DD_MSG_COUNT)
        return true;
    char word[80], hint[80];
    snprintf(word, sizeof word, "%.*s", (int)(length < 70 ? length : 70), bad);
    dd_nearest nearest = dd_nearest_begin(bad, length);
    size_t best = 0;
    dd_nearest_list(&nearest, class_words, &best);
    dd_nearest_list(&nearest, dd_column_list[DD_COL_LINES_KIND].words, &best);
    dd_nearest_list(&nearest, category_words, &best);
    for (size_t i = 0; i < f->plan.fluid_count && i < 2000; i++) {
        const char *before = nearest.best;
        dd_nearest_offer(&nearest, f->fluids[i].key, strlen(f->fluids[i].key));
        if (nearest.best != before)
            best = strlen(f->fluids[i].key);
    }
    if (nearest.best)
        snprintf(hint, sizeof hint, "%.*s", (int)(best < 70 ? best : 70), nearest.best);
    else
        snprintf(hint, sizeof hint, "%s", "a class, kind of line, category or fluid");
    dd_table_fault(s, DD_COL_RULES_APPLIES, id, word, hint, NULL);
    return false;
}

/* The worst severity of the built-in rows in whose place this one can stand. */
static uint8_t built_in_severity(const dd_folder *f, const dd_rule *rule)
{
    uint8_t worst = DD_SEV_NONE;
    for (size_t i = 0; i < BUILT_IN; i++) {
        dd_rule other = {.id = (uint8_t)built_in[i].id};
        const char *bad;
        size_t length;
        if (other.id == rule->id && bind_words(f, &other, built_in[i].applies, &bad, &length) == DD_MSG_COUNT && dd_rule_meet(rule, &other)
            && built_in[i].severity > worst)
            worst = built_in[i].severity;
    }
    return worst;
}

static bool read_rule(dd_folder *f, dd_sheet *s, dd_rule *rule)
{
    const char *name;
    size_t length;
    int severity;
    dd_moment review;
    const char *approved;
    *rule = (dd_rule){.evidence = DD_EV_WARD, .on = -1, .at = {s->row.line, DD_TABLE_RULES, DD_WHOLE_ROW}};
    bool known = dd_cells_key(s, DD_COL_RULES_RULE, &name, &length) && find_name(s, name, length, &rule->id);
    bool good = known;
    good &= read_applies(f, s, rule);
    if (!dd_cells_copy(s, DD_COL_RULES_VALUE, &rule->value_text, &f->no_memory)) {
        good = false;
    } else if (known && rule->value_text) {
        dd_message_id id = read_value(f, rule, rule->value_text);
        if (id != DD_MSG_COUNT) {
            dd_table_fault(s, DD_COL_RULES_VALUE, id, rule->value_text, kinds[dd_rule_names[rule->id].kind].expected, NULL);
            good = false;
        }
    }
    good &= dd_cells_word(s, DD_COL_RULES_SEVERITY, &severity);
    good &= dd_cells_copy(s, DD_COL_RULES_SOURCE, &rule->source, &f->no_memory);
    good &= dd_cells_copy(s, DD_COL_RULES_APPROVED_BY, &approved, &f->no_memory);
    good &= dd_cells_date(s, DD_COL_RULES_REVIEW_BY, f->clock, &review);
    if (!good)
        return false;
    uint8_t built = built_in_severity(f, rule);
    rule->severity = severity < 0 ? built : (uint8_t)(DD_NOTE + severity);
    if (built == DD_CLARIFY && rule->severity < DD_CLARIFY) {
        dd_table_fault(s, DD_COL_RULES_SEVERITY, DD_MSG_SEVERITY_LOWERED, NULL, NULL, NULL);
        return false;
    }
    return true;
}

/* Whether two rows could hold for the same patient with nothing to choose between them. */
static bool tie(const dd_rule *a, const dd_rule *b)
{
    return a->rank == b->rank && dd_rule_meet(a, b);
}

static void index_rules(dd_folder *f, const dd_rule *rules, size_t count)
{
    const dd_rule **by = dd_arena_take_many(f->arena, count, sizeof *by);
    size_t *first = dd_arena_take_many(f->arena, DD_RULE_COUNT + 1, sizeof *first);
    if (!by || !first) {
        f->no_memory = true;
        return;
    }
    size_t at = 0;
    for (size_t id = 0; id < DD_RULE_COUNT; id++) {
        first[id] = at;
        for (size_t i = 0; i < count; i++)
            if (rules[i].id == id)
                by[at++] = &rules[i];
    }
    first[DD_RULE_COUNT] = at;
    f->plan.rule_first = first;
    f->plan.rules_by_id = by;
}

void dd_rules_read(dd_folder *f)
{
    dd_sheet *s = &f->sheets[DD_TABLE_RULES];
    size_t most = BUILT_IN + (f->there[DD_TABLE_RULES] ? dd_desk_rows_most(s) : 0), count = 0;
    dd_rule *rules = dd_arena_take_many(f->arena, most, sizeof *rules);
    if (!rules) {
        f->no_memory = true;
        return;
    }
    while (dd_desk_next(f, s)) {
        dd_rule rule;
        if (s->broken || !read_rule(f, s, &rule))
            continue;
        size_t other = 0;
        while (other < count && !tie(&rules[other], &rule))
            other++;
        if (other < count) {
            char line[24];
            snprintf(line, sizeof line, "%lu", (unsigned long)rules[other].at.line);
            dd_table_fault(s, DD_COL_RULES_APPLIES, DD_MSG_RULE_TIE, NULL, line, NULL);
            continue;
        }
        rules[count++] = rule;
    }
    for (size_t i = 0; i < BUILT_IN && !f->no_memory; i++) {
        const struct built_in_rule *b = &built_in[i];
        dd_rule *rule = &rules[count++];
        const char *bad;
        size_t length;
        *rule = (dd_rule){.applies = b->applies, .value_text = b->value, .source = b->source, .note = b->note, .id = (uint8_t)b->id,
                          .severity = b->severity, .evidence = b->evidence, .on = -1};
        /* Both hold by a unit test: the list is ours. */
        (void)bind_words(f, rule, b->applies, &bad, &length);
        (void)read_value(f, rule, b->value);
    }
    f->plan.rules = rules;
    f->plan.rule_count = count;
    index_rules(f, rules, count);
}
