#include "ruling.h"

static const dd_rule *find(const dd_folder *folder, dd_rule_id id, const dd_patient *p, int line, uint8_t category, const char *fluid)
{
    uint8_t class_word = p->class_at_begin < DD_CLASS_UNKNOWN ? p->class_at_begin : DD_RULES_ANY;
    return dd_rules_find(folder, id, &(dd_rule_about){fluid, class_word, p->lines[line].kind, category});
}

int64_t dd_ruling_seconds(const dd_folder *folder, dd_rule_id id, const dd_patient *p, int line, uint8_t category, const char *fluid)
{
    const dd_rule *rule = find(folder, id, p, line, category, fluid);
    int64_t seconds;
    return rule && dd_quantity_seconds(rule->low, &seconds) == DD_OK ? seconds : 0;
}

int64_t dd_ruling_share(const dd_folder *folder, dd_rule_id id, const dd_patient *p, int line, uint8_t category, const char *fluid)
{
    const dd_rule *rule = find(folder, id, p, line, category, fluid);
    return rule && rule->low.unit == DD_UNIT_PERCENT ? rule->low.micro : 0;
}
