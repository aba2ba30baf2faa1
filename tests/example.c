/* What another program has to write to use the library. */
#include <stdio.h>

#include <omogon/geometry.h>
#include <omogon/text.h>

int main(void)
{
    struct omo_point hip = {100, 400}, shoulder = {100, 200}, elbow = {200, 200};
    double angle_deg = 0;
    char text[32];

    if (omo_angle_at_deg(hip, shoulder, elbow, &angle_deg) != OMO_OK) {
        return 1;
    }
    omo_number_text(angle_deg, 1, text, sizeof text);
    printf("the arm is %s degrees from the trunk\n", text);
    return 0;
}
