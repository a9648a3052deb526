// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/output_file.h"

#include <doctest/doctest.h>
#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>

#include "app/unfinished_files.h"

using namespace clockassay;
namespace fs = std::filesystem;

namespace {

class TemporaryFolder {
 public:
  TemporaryFolder() {
    std::string pattern =
        (fs::temp_directory_path() / "clockassay-XXXXXX").string();
    REQUIRE(::mkdtemp(pattern.data()) != nullptr);
    path_ = pattern;
  }
  ~TemporaryFolder() { fs::remove_all(path_); }
  std::string operator/(const std::string& name) const {
    return (path_ / name).string();
  }
  std::ptrdiff_t files() const {
    return std::distance(fs::directory_iterator(path_), {});
  }

 private:
  fs::path path_;
};

std::string content(const std::string& path) {
  std::ifstream in(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}

void put(const std::string& path, const std::string& text) {
  std::ofstream(path, std::ios::binary) << text;
}

void write_whole(const std::string& path, const std::string& text) {
  auto file = OutputFile::create(path);
  REQUIRE(file.has_value());
  REQUIRE(file->write(text).has_value());
  REQUIRE(file->commit().has_value());
}

}  // namespace

TEST_CASE("OutputFile: without commit nothing changes and nothing is left") {
  const TemporaryFolder folder;
  put(folder / "a", "old");
  {
    auto file = OutputFile::create(folder / "a");
    REQUIRE(file.has_value());
    REQUIRE(file->write("half of the n").has_value());
    CHECK(content(folder / "a") == "old");
  }
  CHECK(content(folder / "a") == "old");
  CHECK(folder.files() == 1);
  { CHECK(OutputFile::create(folder / "b").has_value()); }
  CHECK(folder.files() == 1);
}

TEST_CASE("OutputFile: an existing file is replaced and keeps its mode") {
  const TemporaryFolder folder;
  put(folder / "a", "old");
  REQUIRE(::chmod((folder / "a").c_str(), 0640) == 0);
  write_whole(folder / "a", "new");
  CHECK(content(folder / "a") == "new");
  struct stat info {};
  REQUIRE(::stat((folder / "a").c_str(), &info) == 0);
  CHECK((info.st_mode & 07777) == 0640);
  CHECK(folder.files() == 1);
}

TEST_CASE("OutputFile: a new file gets the mode every new file gets") {
  const TemporaryFolder folder;
  put(folder / "ordinary", "");
  write_whole(folder / "a", "new");
  struct stat ours {};
  struct stat ordinary {};
  REQUIRE(::stat((folder / "a").c_str(), &ours) == 0);
  REQUIRE(::stat((folder / "ordinary").c_str(), &ordinary) == 0);
  CHECK(ours.st_mode == ordinary.st_mode);
}

TEST_CASE("OutputFile: links stay links, what they lead to is written") {
  const TemporaryFolder folder;
  put(folder / "target", "old");
  fs::create_symlink("target", folder / "link");
  fs::create_symlink("link", folder / "link to link");
  write_whole(folder / "link to link", "new");
  CHECK(fs::is_symlink(folder / "link to link"));
  CHECK(fs::is_symlink(folder / "link"));
  CHECK(content(folder / "target") == "new");

  fs::create_symlink("nowhere yet", folder / "dangling");
  write_whole(folder / "dangling", "made");
  CHECK(fs::is_symlink(folder / "dangling"));
  CHECK(content(folder / "nowhere yet") == "made");
}

TEST_CASE("OutputFile: what cannot be created is said") {
  const TemporaryFolder folder;
  fs::create_directory(folder / "folder");
  fs::create_symlink("loop", folder / "loop");
  const auto message_for = [&folder](const std::string& name) {
    const auto file = OutputFile::create(folder / name);
    REQUIRE_FALSE(file.has_value());
    CHECK(file.error().code == ErrorCode::kCannotCreate);
    CHECK(file.error().path == folder / name);
    return file.error().message;
  };
  CHECK(message_for("no/such/folder") ==
        "cannot create: No such file or directory");
  CHECK(message_for("folder") == "cannot create: Is a directory");
  CHECK(message_for("loop") ==
        "cannot create: Too many levels of symbolic links");
}

TEST_CASE("OutputFile: what is sealed changes nothing yet") {
  const TemporaryFolder folder;
  write_whole(folder / "file", "old");
  auto file = OutputFile::create(folder / "file");
  REQUIRE(file.has_value());
  REQUIRE(file->write("new").has_value());
  REQUIRE(file->seal().has_value());
  CHECK(content(folder / "file") == "old");
  REQUIRE(file->commit().has_value());
  CHECK(content(folder / "file") == "new");
}

TEST_CASE("OutputFile: what is unfinished can be taken away at once") {
  const TemporaryFolder folder;
  write_whole(folder / "file", "old");
  auto file = OutputFile::create(folder / "file");
  REQUIRE(file.has_value());
  CHECK(std::distance(fs::directory_iterator(folder / ""), {}) == 2);
  remove_unfinished_files();
  CHECK(std::distance(fs::directory_iterator(folder / ""), {}) == 1);
  CHECK(content(folder / "file") == "old");
}

TEST_CASE("OutputFile: a device is written to, not replaced") {
  write_whole("/dev/null", "gone");
  CHECK(fs::is_character_file("/dev/null"));
  // /dev/full fails every write (full(4)).
  auto full = OutputFile::create("/dev/full");
  REQUIRE(full.has_value());
  const auto written = full->write("too much");
  REQUIRE_FALSE(written.has_value());
  CHECK(written.error().code == ErrorCode::kWriteFailed);
  CHECK(written.error().message == "cannot write: No space left on device");
}

TEST_CASE("OutputFile: a descriptor is written to where it stands") {
  const TemporaryFolder folder;
  const int fd = ::creat((folder / "log").c_str(), 0600);
  REQUIRE(fd >= 0);
  REQUIRE(::write(fd, "before ", 7) == 7);
  write_whole("/dev/fd/" + std::to_string(fd), "ours ");
  REQUIRE(::write(fd, "after", 5) == 5);
  ::close(fd);
  CHECK(content(folder / "log") == "before ours after");
}
