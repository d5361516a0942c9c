/* solute.h - what fluids and additives hold, in words and rows: a member of dd_composition is meant by its number (catalogue.h). */
#ifndef DD_SOLUTE_H
#define DD_SOLUTE_H

#include "bytes.h"
#include "catalogue.h"
#include "daydrip/write.h"

const char *dd_solute_name(size_t member); /* sodium ... glucose, osmolarity */
const char *dd_solute_unit(size_t member); /* mmol, g, mOsm */
/* A composition's or a mixture's value (nmol, ug, nOsm) in the member's unit; denominator 0 where it is not known. */
dd_ratio dd_solute_of(const dd_composition *has, size_t member);
dd_ratio dd_solute_scaled(dd_ratio value);

/* Half up at the third decimal; `?` where it is not known. For people, on a sheet: `about` before what is not exact then, and a name,
 * its number and its unit stay on one line. */
void dd_solute_number(dd_bytes *out, dd_ratio value, dd_style style);
void dd_solute_exact(dd_bytes *out, dd_ratio value, const char *unit);

/* `anhydrous`, `monohydrate`, `not stated`; nothing where there is no glucose. */
const char *dd_solute_form(unsigned glucose_form);
/* `sodium 77 mmol/L, chloride 77 mmol/L, glucose 50 g/L as anhydrous, 432 mOsm/L`; what is 0 is left out. */
void dd_solute_fluid(dd_bytes *out, const dd_fluid *fluid);
/* What 1 mmol or 1 g of the amount brings, in the member's unit. */
dd_ratio dd_solute_brings(const dd_additive *additive, size_t member);
/* `1 mmol brings potassium 1 mmol, chloride 1 mmol, 2 mOsm` */
void dd_solute_additive(dd_bytes *out, const dd_additive *additive);
/* `; from memory` where the figures were not read in a source; else nothing. */
void dd_solute_evidence(dd_bytes *out, unsigned evidence);

#endif
