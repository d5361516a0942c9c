/* steps.c - lists to tick while a line is placed and an infusion started: common practice in this program's own words. */
#include "label.h"

#include "daydrip/rule.h"
#include "phrase.h"

static void set_step(dd_label *l)
{
    dd_sheet_row(l->sheet, (const dd_cell[]){{.at = 1, .text = "[ ]"}, {.at = 5, .text = dd_phrase_text(l->text)}}, 2);
}

static void set_words(dd_label *l, const char *words)
{
    dd_bytes_text(dd_phrase_start(l->text), words);
    set_step(l);
}

static void set_title(dd_label *l, const char *title)
{
    dd_phrase_start(l->text);
    dd_bytes_text(l->text, title);
    dd_bytes_text(l->text, ", ");
    dd_bytes_text(l->text, dd_phrase_bed(l->timeline->patient));
    dd_bytes_text(l->text, ".  Common practice: local policy goes before it.");
    dd_sheet_text(l->sheet, 0, 2, dd_phrase_text(l->text));
    dd_sheet_join(l->sheet);
}

/* `ALLERGY: PENICILLIN. Ask ...` */
static void set_allergy(dd_label *l, const char *ask)
{
    dd_phrase_allergy(dd_phrase_start(l->text), l->timeline->patient);
    dd_bytes_text(l->text, ask);
    set_step(l);
}

/* The shortest of what the rule says for the patient's lines; 0: nothing. */
static int64_t shortest(const dd_timeline *t, dd_rule_id id)
{
    int64_t least = 0;
    for (int line = 0; line < t->patient->line_count; line++) {
        const dd_rule_about about = dd_rule_of_patient(t->patient, line);
        int64_t seconds = dd_rule_seconds(dd_rule_find(t->plan, id, &about));
        if (seconds > 0 && (least == 0 || seconds < least))
            least = seconds;
    }
    return least;
}

static void set_looks(dd_label *l)
{
    int64_t first = shortest(l->timeline, DD_RULE_SITE_CHECK_FIRST), then = shortest(l->timeline, DD_RULE_SITE_CHECK);
    dd_phrase_start(l->text);
    dd_bytes_text(l->text, "Look at the site ");
    if (first > 0) {
        dd_phrase_span(l->text, first);
        dd_bytes_text(l->text, " after the start, ");
    }
    dd_bytes_text(l->text, "then at least every ");
    if (then > 0)
        dd_phrase_span(l->text, then);
    else
        dd_bytes_text(l->text, "......");
    dd_bytes_text(l->text, " while anything runs: redness, swelling, pain, leaks. Stop where there is any of these.");
    set_step(l);
}

static void set_placing(dd_label *l)
{
    dd_sheet_together(l->sheet);
    set_title(l, "PLACING A LINE");
    set_words(l, "Read the order: is a line needed, for what, for how long? Ask the patient's name and compare it with the band and the order.");
    set_allergy(l, ". Ask again, and about latex, antiseptics and plasters.");
    set_words(l, "Have at hand: cannula of the gauge that is wanted, tourniquet, antiseptic, gloves, extension set, end cap, prefilled saline syringe, dressing, tape, towel, a box for sharps.");
    set_words(l, "Say what you will do, and that pain or burning is to be told. Clean hands.");
    set_words(l, "Choose the site away from a joint, from a wound and from a side that is not to be used. Fill the extension set with saline: no air in it.");
    set_words(l, "Tourniquet on. Clean the skin with antiseptic and let it dry by itself. Then do not touch it again.");
    set_words(l, "Place the cannula. Blood comes back: tourniquet off. Needle into the box at once.");
    set_words(l, "Connect the extension set and flush: it goes in without force, without pain, without swelling.");
    set_words(l, "Dressing on, the site to be seen through it. Its label: date, time, site, gauge, initials.");
    set_words(l, "Chart it: daydrip chart BED LINE placed.");
    dd_sheet_apart(l->sheet);
    dd_sheet_blank(l->sheet);
}

static void set_starting(dd_label *l)
{
    dd_sheet_together(l->sheet);
    set_title(l, "STARTING AN INFUSION");
    set_words(l, "Verify the order: patient, fluid, additives, volume, rate, line, and who verified it. Anything unclear is clarified before it starts.");
    set_allergy(l, ". Nothing in the bag, the set or the dressing may be one of these.");
    set_words(l, "Look at the bag: the fluid and volume of the order, the right colour, clear, no particles, no leaks, not past its expiry. Label on it.");
    set_words(l, "Two nurses for blood, insulin and drugs that act on heart and vessels; for others by local policy.");
    set_words(l, "Clamp closed. Open the bag without touching the spike, hang it, fill the drip chamber by half.");
    set_words(l, "Prime the whole set slowly until no air is left in it, ports and extension too. Clamp closed, end covered. Label with the time on the set.");
    set_words(l, "Look at the site. Prepare the port with antiseptic and let it dry. Flush: it goes in without force or pain.");
    set_words(l, "Connect; follow the set with your hand from the bag to the patient. Set the rate on the label; with a gravity set count the drops for a whole 60 s.");
    set_words(l, "Write on the bag's label when it was hung and by whom. Chart it: daydrip chart BED ORDER started.");
    set_looks(l);
    dd_sheet_apart(l->sheet);
    dd_sheet_blank(l->sheet);
}

void dd_steps_write(dd_label *l)
{
    set_placing(l);
    set_starting(l);
}
