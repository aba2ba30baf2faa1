#include "usual_pipeline.h"

#include <algorithm>
#include <cmath>
#include <vector>

#include <opencv2/core.hpp>
#include <opencv2/core/version.hpp>
#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>

namespace
{

/* Values in common use; no source. */
constexpr int BLUR_PX = 11;
constexpr int HUE_HALF_WIDTH = 11; /* OpenCV hue, 0..179: 22 degrees */
constexpr double SATURATION_SHARE = 0.5;
constexpr double VALUE_SHARE = 0.35;
constexpr int MORPHOLOGY_ROUNDS = 2;
constexpr double MIN_AREA_PX = 20.0;

struct colour_range {
    omo_role role;
    int hue, saturation_low, value_low;
};

struct patch {
    double area, x, y;
};

colour_range range_of_entry(const omo_set_entry &entry)
{
    const double luma = std::isnan(entry.luma) ? 128.0 : entry.luma;
    const double ycbcr[3] = {luma, entry.cb, entry.cr};
    double rgb[3];
    omo_ycbcr_to_srgb(ycbcr, rgb);
    const cv::Mat bgr(1, 1, CV_8UC3,
                      cv::Scalar(std::clamp(rgb[2], 0.0, 255.0),
                                 std::clamp(rgb[1], 0.0, 255.0),
                                 std::clamp(rgb[0], 0.0, 255.0)));
    cv::Mat hsv;
    cv::cvtColor(bgr, hsv, cv::COLOR_BGR2HSV);
    const cv::Vec3b pixel = hsv.at<cv::Vec3b>(0, 0);
    return {omo_role_from_name(entry.name), pixel[0],
            static_cast<int>(SATURATION_SHARE * pixel[1]),
            static_cast<int>(VALUE_SHARE * pixel[2])};
}

void select_colour(const cv::Mat &hsv, const colour_range &range, cv::Mat &mask,
                   cv::Mat &second)
{
    const int low = range.hue - HUE_HALF_WIDTH;
    const int high = range.hue + HUE_HALF_WIDTH;
    const int s = range.saturation_low;
    const int v = range.value_low;
    cv::inRange(hsv, cv::Scalar(std::max(low, 0), s, v),
                cv::Scalar(std::min(high, 179), 255, 255), mask);
    /* Hue is a circle: a range over its end is two. */
    if (low < 0) {
        cv::inRange(hsv, cv::Scalar(low + 180, s, v), cv::Scalar(179, 255, 255), second);
        mask |= second;
    } else if (high > 179) {
        cv::inRange(hsv, cv::Scalar(0, s, v), cv::Scalar(high - 180, 255, 255), second);
        mask |= second;
    }
}

void accept(omo_markers *markers, omo_role role, const patch &found)
{
    omo_marker &marker = markers->role[role];
    marker.seen = OMO_SEEN;
    marker.x_px = found.x;
    marker.y_px = found.y;
    marker.diameter_px = 2.0 * std::sqrt(found.area / CV_PI);
}

} // namespace

struct usual_pipeline {
    std::vector<colour_range> ranges;
    bool chest, chest_has_entry;
    cv::Mat bgr, blurred, hsv, mask, second;
    std::vector<std::vector<cv::Point>> contours;
    std::vector<patch> patches;

    void find_patches()
    {
        cv::erode(mask, mask, cv::Mat(), cv::Point(-1, -1), MORPHOLOGY_ROUNDS);
        cv::dilate(mask, mask, cv::Mat(), cv::Point(-1, -1), MORPHOLOGY_ROUNDS);
        cv::findContours(mask, contours, cv::RETR_EXTERNAL, cv::CHAIN_APPROX_SIMPLE);
        patches.clear();
        for (const auto &contour : contours) {
            const cv::Moments m = cv::moments(contour);
            if (m.m00 >= MIN_AREA_PX)
                patches.push_back({m.m00, m.m10 / m.m00, m.m01 / m.m00});
        }
        std::sort(patches.begin(), patches.end(),
                  [](const patch &a, const patch &b) { return a.area > b.area; });
    }

    void step(const uint8_t *bytes, size_t size, omo_markers *markers)
    {
        /* imdecode only reads, but a Mat has no const data. */
        const cv::Mat jpeg(1, static_cast<int>(size), CV_8UC1,
                           const_cast<uint8_t *>(bytes));
        bgr = cv::imdecode(jpeg, cv::IMREAD_COLOR);
        if (bgr.empty())
            CV_Error(cv::Error::StsParseError, "not a picture");
        cv::GaussianBlur(bgr, blurred, cv::Size(BLUR_PX, BLUR_PX), 0);
        cv::cvtColor(blurred, hsv, cv::COLOR_BGR2HSV);
        for (const colour_range &range : ranges) {
            select_colour(hsv, range, mask, second);
            find_patches();
            if (patches.empty())
                continue;
            const bool pair = range.role == OMO_HIP && chest && !chest_has_entry;
            if (pair && patches.size() > 1) {
                const bool first_is_upper = patches[0].y < patches[1].y;
                accept(markers, OMO_CHEST, patches[first_is_upper ? 0 : 1]);
                accept(markers, OMO_HIP, patches[first_is_upper ? 1 : 0]);
            } else {
                accept(markers, range.role, patches[0]);
            }
        }
    }
};

bool usual_pipeline_is_there(void)
{
    return true;
}

struct usual_pipeline *usual_pipeline_create(const struct omo_marker_set *set, bool chest)
{
    try {
        cv::setNumThreads(1);
        auto *pipeline = new usual_pipeline();
        pipeline->chest = chest;
        pipeline->chest_has_entry = false;
        for (int i = 0; i < set->count; i++) {
            const colour_range range = range_of_entry(set->entry[i]);
            if (range.role == OMO_ROLE_COUNT)
                continue;
            pipeline->chest_has_entry |= range.role == OMO_CHEST;
            pipeline->ranges.push_back(range);
        }
        return pipeline;
    } catch (...) {
        return nullptr;
    }
}

void usual_pipeline_destroy(struct usual_pipeline *pipeline)
{
    delete pipeline;
}

bool usual_pipeline_step(struct usual_pipeline *pipeline, const uint8_t *bytes,
                         size_t size, struct omo_markers *markers)
{
    for (omo_marker &marker : markers->role)
        marker = {OMO_NOT_SEEN, NAN, NAN, NAN, NAN};
    try {
        pipeline->step(bytes, size, markers);
        return true;
    } catch (...) {
        return false;
    }
}

const char *usual_pipeline_opencv_version(void)
{
    return CV_VERSION;
}
