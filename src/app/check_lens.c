/* What the check says about the lens profile and the level it takes out. */
#include <math.h>

#include "app/check.h"
#include "app/lens_report.h"
#include "omogon/text.h"
#include "omogon/words.h"

/* The level is still the profile's when the room's lines lean as it says, within this and
 * what it is good to. Our choice, as for a camera that stands level. */
#define MOVED_DEG 1.0

/* A level that is taken out need not be 0, but it has to be the camera's still. */
void omo_check_kept_level(const struct omo_lens *lens, double roll_deg,
                          struct omo_check_item *item)
{
    double off_deg = fabs(roll_deg - lens->roll_deg);
    bool moved = off_deg > MOVED_DEG + 2 * lens->roll_u_deg;
    char text[32];
    omo_number_text(off_deg, 1, text, sizeof text);
    *item =
        (struct omo_check_item){.name = "level",
                                .verdict = moved ? OMO_VERDICT_REMEDY : OMO_VERDICT_PASS};
    omo_text_add(item->sentence, sizeof item->sentence,
                 moved
                     ? omo_word("The room's upright lines lean %s degrees away from the "
                                "lens profile's level: the camera was moved, level it "
                                "anew with \"omogon lens --level\".")
                     : omo_word("The room's upright lines agree with the lens profile's "
                                "level within %s degrees."),
                 text);
}

void omo_check_lens(const struct omo_plan *plan, int width, int height,
                    struct omo_check_item *item)
{
    char level[160] = "";
    struct omo_lens lens;
    *item = (struct omo_check_item){.name = "lens", .verdict = OMO_VERDICT_UNKNOWN};
    if (!plan->has_lens) {
        omo_text_copy(item->sentence, sizeof item->sentence,
                      omo_word("No lens profile: an ordinary lens, standing level, is "
                               "assumed. \"omogon lens\" makes one."));
        return;
    }
    if (!omo_lens_scale(&plan->lens, width, height, &lens)) {
        item->verdict = OMO_VERDICT_REMEDY;
        omo_text_copy(item->sentence, sizeof item->sentence,
                      omo_word("The lens profile is of pictures of another shape: "
                               "calibrate in the size that is measured in."));
        return;
    }
    item->verdict = OMO_VERDICT_PASS;
    omo_lens_level_text(&lens, level, sizeof level);
    omo_text_add(item->sentence, sizeof item->sentence, omo_word("Lens profile %s. %s"),
                 plan->lens_name, level[0] ? level : omo_word("Its level is not known."));
}
