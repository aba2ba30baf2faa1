/** Notifications of the desktop (org.freedesktop.Notifications) with two buttons. */
#ifndef OMO_APP_DESK_NOTICE_H
#define OMO_APP_DESK_NOTICE_H

#include "app/desk_ask.h"

struct omo_desk_notice;
/** NULL without a session bus. */
struct omo_desk_notice *omo_desk_notice_create(struct omo_desk_wait *wait);
/** Takes what is shown away. NULL is fine. */
void omo_desk_notice_destroy(struct omo_desk_notice *notice);
/** In the place of the last one. False when nobody shows it, or, with buttons, when
 *  nobody shows buttons. Silent. */
bool omo_desk_notice_show(struct omo_desk_notice *notice, const char *title,
                          const char *text, bool buttons);
/** The button pressed: 1 yes, 0 no; -1 when it was closed or seconds went by. */
int omo_desk_notice_answer(struct omo_desk_notice *notice, double seconds);

#endif
