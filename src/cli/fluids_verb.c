/* fluids_verb.c - `fluids`: the catalogue with its sources, or what one mixture holds. */
#include "asked.h"
#include "mixlist.h"
#include "session.h"
#include "verbs.h"

static dd_status write_list(dd_session *s)
{
    bool additives = s->words->value[DD_OPTION_ADDITIVES] != NULL;
    return s->view.csv ? dd_fluidlist_rows(&s->view, additives, s->out) : dd_fluidlist_pages(&s->view, additives, s->out);
}

static dd_status write_mixture(dd_session *s)
{
    dd_asked a = {.verb = "fluids", .err = s->err};
    dd_mix mix;
    dd_quantity bag;
    dd_volume volume = {DD_UNKNOWN};
    if (dd_asked_quantity(&a, "--bag", s->words->value[DD_OPTION_BAG], DD_TAKES_VOLUME, false, "a volume such as 500 mL", &bag)
        && (bag.unit == DD_UNIT_NONE || dd_quantity_volume(bag, &volume) == DD_OK)
        && dd_asked_mixture(&a, "--mixture", s->words->value[DD_OPTION_MIXTURE], volume.ul, "--bag too, such as --bag 500mL", s->folder, &mix))
        return s->view.csv ? dd_mixlist_rows(&mix, s->out) : dd_mixlist_text(&s->view, &mix, s->out);
    dd_session_exit(s, dd_asked_end(&a));
    return DD_OK;
}

int dd_fluids_verb(const dd_words *words, dd_bytes *out, dd_bytes *err)
{
    dd_session s;
    const char *mixture = words->value[DD_OPTION_MIXTURE];
    if (words->value[DD_OPTION_BAG] && !mixture)
        return dd_words_wrong(err, words, "--bag says how much of --mixture there is; say that too");
    if (words->value[DD_OPTION_ADDITIVES] && mixture)
        return dd_words_wrong(err, words, "--additives is a list and --mixture is one mixture: one of the two at a time");
    if (dd_session_open(&s, words, false, out, err)) {
        dd_status status = mixture ? write_mixture(&s) : write_list(&s);
        if (status != DD_OK)
            dd_session_failed(&s, status);
        else
            dd_session_deliver(&s);
    }
    dd_session_end(&s);
    return s.exit_status;
}
