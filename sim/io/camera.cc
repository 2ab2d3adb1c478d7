// SPDX-License-Identifier: Apache-2.0
#include "io/camera.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <linux/videodev2.h>
#include <poll.h>
#include <sys/ioctl.h>
#include <sys/mman.h>
#include <unistd.h>

#include <cerrno>
#include <system_error>
#include <vector>

namespace drycrank::io {
namespace {

constexpr unsigned kWidth = 1920, kHeight = 1080, kBuffers = 3;
constexpr int kFramesBefore = 8;  // until its light is right
constexpr int kPatienceMs = 5000;
constexpr char kOthers[] = "name a camera: ls /dev/video*";
constexpr char kAnew[] = "plug it in anew";
constexpr char kInUse[] = "another program may use it: close that one";

std::string Reason() { return std::error_code(errno, std::generic_category()).message(); }

// The device, and the memory that it shares; all of it is given back.
class Camera {
 public:
  explicit Camera(std::string device) : device_(std::move(device)) {}
  ~Camera() {
    if (streams_) (void)Ask(VIDIOC_STREAMOFF, &kind_);
    for (const Shared& s : shared_) munmap(s.memory, s.size);
    if (descriptor_ >= 0) close(descriptor_);
  }
  Camera(const Camera&) = delete;
  Camera& operator=(const Camera&) = delete;

  TakenFrame Take() {
    if (!Open() || !Choose() || !Share() || !Start()) return {std::nullopt, problem_};
    for (int i = 0; i < kFramesBefore; ++i) {
      if (!Next(nullptr)) return {std::nullopt, problem_};
    }
    CameraFrame frame = shape_;
    if (!Next(&frame.bytes)) return {std::nullopt, problem_};
    return {std::move(frame), ""};
  }

 private:
  struct Shared {
    void* memory = nullptr;
    std::size_t size = 0;
  };

  bool Fail(const char* step, const char* remedy) {
    problem_ = fmt::format("{}: {}: {}; {}", device_, step, Reason(), remedy);
    return false;
  }
  bool Refuse(const std::string& what) {
    problem_ = fmt::format("{}: {}; {}", device_, what, kOthers);
    return false;
  }
  bool Ask(unsigned long request, void* data) {
    int result = -1;
    do {
      result = ioctl(descriptor_, request, data);
    } while (result < 0 && errno == EINTR);
    return result >= 0;
  }

  bool Open() {
    descriptor_ = open(device_.c_str(), O_RDWR | O_NONBLOCK | O_CLOEXEC);
    if (descriptor_ < 0) return Fail("open", kOthers);
    v4l2_capability can{};
    if (!Ask(VIDIOC_QUERYCAP, &can)) return Refuse("it is no camera");
    const bool apart = (can.capabilities & V4L2_CAP_DEVICE_CAPS) != 0;
    const unsigned has = apart ? can.device_caps : can.capabilities;
    if ((has & V4L2_CAP_VIDEO_CAPTURE) == 0) return Refuse("it takes no pictures");
    return (has & V4L2_CAP_STREAMING) != 0 || Refuse("it cannot share its frames");
  }

  // Motion JPEG, else YUYV: the camera answers with what it will do.
  bool Choose() {
    for (const unsigned wanted : {V4L2_PIX_FMT_MJPEG, V4L2_PIX_FMT_YUYV}) {
      v4l2_format format{};
      format.type = V4L2_BUF_TYPE_VIDEO_CAPTURE;
      format.fmt.pix.width = kWidth;
      format.fmt.pix.height = kHeight;
      format.fmt.pix.pixelformat = wanted;
      format.fmt.pix.field = V4L2_FIELD_ANY;
      const bool done = Ask(VIDIOC_S_FMT, &format);
      if (!done && errno == EBUSY) return Fail("choose a format", kInUse);
      if (!done || format.fmt.pix.pixelformat != wanted) continue;
      const v4l2_pix_format& is = format.fmt.pix;
      shape_.kind =
          wanted == V4L2_PIX_FMT_MJPEG ? CameraFrame::Kind::kJpeg : CameraFrame::Kind::kYuyv;
      shape_.width = static_cast<int>(is.width);
      shape_.height = static_cast<int>(is.height);
      shape_.bytes_per_line = static_cast<int>(is.bytesperline);
      return true;
    }
    return Refuse("it gives neither Motion JPEG nor YUYV");
  }

  bool Share() {
    v4l2_requestbuffers wish{};
    wish.count = kBuffers;
    wish.type = V4L2_BUF_TYPE_VIDEO_CAPTURE;
    wish.memory = V4L2_MEMORY_MMAP;
    if (!Ask(VIDIOC_REQBUFS, &wish) || wish.count == 0) return Fail("ask for memory", kInUse);
    for (unsigned i = 0; i < wish.count; ++i) {
      v4l2_buffer buffer = Buffer(i);
      if (!Ask(VIDIOC_QUERYBUF, &buffer)) return Fail("look at its memory", kAnew);
      void* memory = mmap(nullptr, buffer.length, PROT_READ | PROT_WRITE, MAP_SHARED, descriptor_,
                          static_cast<off_t>(buffer.m.offset));
      if (memory == MAP_FAILED) return Fail("share its memory", kAnew);
      shared_.push_back({memory, buffer.length});
      if (!Ask(VIDIOC_QBUF, &buffer)) return Fail("give it memory", kAnew);
    }
    return true;
  }
  static v4l2_buffer Buffer(unsigned index) {
    v4l2_buffer buffer{};
    buffer.index = index;
    buffer.type = V4L2_BUF_TYPE_VIDEO_CAPTURE;
    buffer.memory = V4L2_MEMORY_MMAP;
    return buffer;
  }
  bool Start() {
    streams_ = Ask(VIDIOC_STREAMON, &kind_);
    return streams_ || Fail("start", kInUse);
  }

  // The next frame's bytes, where they are wanted.
  bool Next(std::string* bytes) {
    pollfd asked{descriptor_, POLLIN, 0};
    int ready = -1;
    do {
      ready = poll(&asked, 1, kPatienceMs);
    } while (ready < 0 && errno == EINTR);
    if (ready == 0) return Refuse(fmt::format("no frame came within {} s", kPatienceMs / 1000));
    v4l2_buffer buffer = Buffer(0);
    if (ready < 0 || !Ask(VIDIOC_DQBUF, &buffer) || buffer.index >= shared_.size()) {
      return Fail("take a frame", kAnew);
    }
    const Shared& from = shared_[buffer.index];
    const bool is_whole =
        (buffer.flags & V4L2_BUF_FLAG_ERROR) == 0 && buffer.bytesused <= from.size;
    if (bytes != nullptr && is_whole) {
      bytes->assign(static_cast<const char*>(from.memory), buffer.bytesused);
    }
    if (!Ask(VIDIOC_QBUF, &buffer)) return Fail("give it memory", kAnew);
    return bytes == nullptr || is_whole || Refuse("it gave a broken frame");
  }

  std::string device_, problem_;
  int descriptor_ = -1;
  int kind_ = V4L2_BUF_TYPE_VIDEO_CAPTURE;
  bool streams_ = false;
  CameraFrame shape_;
  std::vector<Shared> shared_;
};

}  // namespace

TakenFrame TakeFrame(const std::string& device) { return Camera(device).Take(); }

}  // namespace drycrank::io
