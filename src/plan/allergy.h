/* allergy.h - what a patient is allergic to, held against what is ordered. Internal to src/plan. */
#ifndef DD_ALLERGY_H
#define DD_ALLERGY_H

#include "desk.h"

/* Whether a cell of allergies says no more than that nobody knows: `unknown`, `not recorded`, `?`. It is the same as a blank one;
 * `none known` says something. */
bool dd_allergy_says_nothing(const char *allergies);
/* Fills allergy, allergy_family and allergy_words of every order. Needs patients and orders. */
void dd_allergy_bind(dd_folder *f);

#endif
