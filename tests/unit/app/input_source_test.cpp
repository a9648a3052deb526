// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/input_source.h"

#include <doctest/doctest.h>
#include <unistd.h>

#include <array>
#include <filesystem>
#include <fstream>
#include <future>
#include <string>

using namespace clockassay;

namespace {

// A pipe, and a source that reads from it.
struct PipeSource {
  FileDescriptor write_end;
  InputSource source;

  static PipeSource make() {
    int ends[2];
    REQUIRE(::pipe(ends) == 0);
    const FileDescriptor read_end(ends[0]);
    auto source = InputSource::open("/dev/fd/" + std::to_string(ends[0]));
    REQUIRE(source);
    return {FileDescriptor(ends[1]), std::move(*source)};
  }
};

}  // namespace

TEST_CASE("InputSource: a read that waits for a pipe can be interrupted") {
  PipeSource pipe = PipeSource::make();
  REQUIRE(pipe.source.make_interruptible());
  REQUIRE(write_all(pipe.write_end.get(), "abc", "pipe"));
  std::array<char, 10> buffer;
  CHECK(pipe.source.read(buffer).value() == 3);
  CHECK(std::string(buffer.data(), 3) == "abc");
  // Nobody writes any more, and the pipe stays open.
  auto waiting = std::async(std::launch::async,
                            [&] { return pipe.source.read(buffer).value(); });
  pipe.source.interrupt();
  CHECK(waiting.get() == 0);
  // Later reads do not begin.
  REQUIRE(write_all(pipe.write_end.get(), "def", "pipe"));
  CHECK(pipe.source.read(buffer).value() == 0);
}

TEST_CASE("InputSource: a pipe ends when it is closed, interruptible or not") {
  for (const bool interruptible : {false, true}) {
    PipeSource pipe = PipeSource::make();
    if (interruptible) REQUIRE(pipe.source.make_interruptible());
    REQUIRE(write_all(pipe.write_end.get(), "abc", "pipe"));
    CHECK(pipe.write_end.close());
    std::array<char, 10> buffer;
    CHECK(pipe.source.read(buffer).value() == 3);
    CHECK(pipe.source.read(buffer).value() == 0);
  }
}

TEST_CASE("InputSource: a file that changed since it was opened says so") {
  const std::string path =
      (std::filesystem::temp_directory_path() /
       ("clockassay-changed-" + std::to_string(::getpid())))
          .string();
  std::ofstream(path) << "abc";
  const auto source = InputSource::open(path);
  REQUIRE(source);
  CHECK_FALSE(source->changed());
  std::ofstream(path, std::ios::app) << "de";
  const auto error = source->changed();
  std::filesystem::remove(path);
  REQUIRE(error);
  CHECK(error->code == ErrorCode::kReadFailed);
  CHECK(error->path == path);
  CHECK(error->message == "it changed while it was read, from 3 to 5 bytes");
  // A pipe never does.
  CHECK_FALSE(PipeSource::make().source.changed());
}
