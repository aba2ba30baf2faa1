/** Today's mark of a course, as the programme would set it. */
#ifndef OMO_APP_COURSE_MARK_H
#define OMO_APP_COURSE_MARK_H

#include "app/person_tables.h"
#include "omogon/progress.h"

struct omo_course_marks;
/** `tables` are lent and have to outlast it. NULL when the rules cannot be read, which is
 *  said. */
struct omo_course_marks *omo_course_marks_open(const struct omo_person_tables *tables);
/** NULL is fine. */
void omo_course_marks_close(struct omo_course_marks *marks);
/** What a calm day's reach would have as its mark, limits and the practitioner's own word
 *  counted; NAN: none, or nobody's course. Of `marks` NULL always NAN. */
double omo_course_mark(struct omo_course_marks *marks,
                       const struct omo_progress_course *course);

#endif
