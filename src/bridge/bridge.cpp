#include "bridge/bridge.h"

#include <cmath>
#include <cstdlib>
#include <new>

#include <opencv2/core.hpp>
#include <opencv2/core/utils/logger.hpp>
#include <opencv2/videoio.hpp>

struct omo_bridge_camera {
    cv::VideoCapture capture;
    cv::Mat picture;
};

namespace
{

/* Every way through C++ ends in a status; `otherwise` is what an unknown exception means
 * here. */
template <typename Work> enum omo_status caught(enum omo_status otherwise, Work work)
{
    try {
        return work();
    } catch (const std::bad_alloc &) {
        return OMO_ERR_MEMORY;
    } catch (const cv::Exception &e) {
        return e.code == cv::Error::StsNoMem ? OMO_ERR_MEMORY : otherwise;
    } catch (...) {
        return otherwise;
    }
}

/* OpenCV waits ten seconds for a picture unless told otherwise before its first wait. */
void prepare_once()
{
    static const bool prepared = [] {
        setenv("OPENCV_VIDEOIO_V4L_SELECT_TIMEOUT", "1", 1);
        cv::utils::logging::setLogLevel(cv::utils::logging::LOG_LEVEL_SILENT);
        return true;
    }();
    (void)prepared;
}

/* The order matters: every change of format or size starts the device anew with the rate
 * that was last settled, so the rate comes after them. A property that is refused shows
 * in what is read back. */
void ask(cv::VideoCapture &capture, const omo_bridge_mode &wish)
{
    (void)capture.set(cv::CAP_PROP_FOURCC, wish.fourcc);
    (void)capture.set(cv::CAP_PROP_FRAME_WIDTH, wish.width);
    (void)capture.set(cv::CAP_PROP_FRAME_HEIGHT, wish.height);
    if (wish.frames_per_second > 0)
        (void)capture.set(cv::CAP_PROP_FPS, wish.frames_per_second);
    (void)capture.set(cv::CAP_PROP_CONVERT_RGB, 0);
}

omo_bridge_mode answer(const cv::VideoCapture &capture)
{
    omo_bridge_mode mode;

    mode.fourcc = static_cast<uint32_t>(capture.get(cv::CAP_PROP_FOURCC));
    mode.width = static_cast<int>(capture.get(cv::CAP_PROP_FRAME_WIDTH));
    mode.height = static_cast<int>(capture.get(cv::CAP_PROP_FRAME_HEIGHT));
    mode.frames_per_second = capture.get(cv::CAP_PROP_FPS);
    return mode;
}

} // namespace

extern "C" enum omo_status omo_bridge_camera_open(const char *path,
                                                  const struct omo_bridge_mode *wish,
                                                  struct omo_bridge_mode *got,
                                                  struct omo_bridge_camera **out)
{
    omo_bridge_camera *camera = nullptr;
    enum omo_status status = caught(OMO_ERR_OPEN, [&] {
        prepare_once();
        camera = new omo_bridge_camera;
        if (!camera->capture.open(path, cv::CAP_V4L2))
            return OMO_ERR_OPEN;
        ask(camera->capture, *wish);
        if (!camera->capture.isOpened())
            return OMO_ERR_OPEN;
        *got = answer(camera->capture);
        return OMO_OK;
    });

    if (status != OMO_OK) {
        omo_bridge_camera_destroy(camera);
        return status;
    }
    *out = camera;
    return OMO_OK;
}

extern "C" void omo_bridge_camera_destroy(struct omo_bridge_camera *camera)
{
    (void)caught(OMO_ERR_IO, [&] {
        delete camera;
        return OMO_OK;
    });
}

extern "C" enum omo_status omo_bridge_camera_grab(struct omo_bridge_camera *camera)
{
    return caught(OMO_ERR_IO,
                  [&] { return camera->capture.grab() ? OMO_OK : OMO_ERR_IO; });
}

extern "C" int64_t omo_bridge_camera_time_us(const struct omo_bridge_camera *camera)
{
    double time_ms = 0;

    (void)caught(OMO_ERR_IO, [&] {
        time_ms = camera->capture.get(cv::CAP_PROP_POS_MSEC);
        return OMO_OK;
    });
    /* The stamp is whole microseconds; as milliseconds in a double it is off by far less
     * than half of one. */
    return static_cast<int64_t>(std::llround(time_ms * 1000.0));
}

extern "C" enum omo_status omo_bridge_camera_bytes(struct omo_bridge_camera *camera,
                                                   const uint8_t **bytes, size_t *size)
{
    return caught(OMO_ERR_IO, [&] {
        /* False is an empty picture, too. */
        if (!camera->capture.retrieve(camera->picture) || camera->picture.empty()) {
            *bytes = nullptr;
            *size = 0;
            return OMO_OK;
        }
        if (!camera->picture.isContinuous())
            return OMO_ERR_IO;
        *bytes = camera->picture.data;
        *size = camera->picture.total() * camera->picture.elemSize();
        return OMO_OK;
    });
}
