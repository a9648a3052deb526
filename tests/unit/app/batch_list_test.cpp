// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/batch_list.h"

#include <doctest/doctest.h>

#include <cstdio>
#include <filesystem>
#include <fstream>
#include <string>

namespace clockassay {
namespace {

/// A folder of empty files that is gone with the object.
class Folder {
 public:
  explicit Folder(const std::vector<std::string>& files)
      : path_(std::filesystem::temp_directory_path() /
              ("clockassay-list-" + std::to_string(++count_))) {
    std::filesystem::remove_all(path_);
    std::filesystem::create_directory(path_);
    for (const std::string& name : files) write(name, "");
  }
  ~Folder() { std::filesystem::remove_all(path_); }
  Folder(const Folder&) = delete;
  Folder& operator=(const Folder&) = delete;

  void write(const std::string& name, const std::string& text) const {
    std::ofstream(path_ / name) << text;
  }
  std::string of(const std::string& name) const {
    return (path_ / name).string();
  }

 private:
  static int count_;
  std::filesystem::path path_;
};

int Folder::count_ = 0;

}  // namespace

TEST_CASE("parse_batch_list: a path a line, with comments and blank lines") {
  const auto entries =
      parse_batch_list("# the boards\r\n\r\n  a 1.vcd \r\nb.csv");
  REQUIRE(entries);
  REQUIRE(entries->size() == 2);
  CHECK(entries->at(0).path == "a 1.vcd");
  CHECK(entries->at(1).path == "b.csv");
}

TEST_CASE("parse_batch_list: JSON has tags") {
  const auto entries = parse_batch_list(
      R"([{"capture": "a.vcd", "tags": {"board": "7"}}, {"capture": "b"}])");
  REQUIRE(entries);
  REQUIRE(entries->size() == 2);
  REQUIRE(entries->at(0).tags.size() == 1);
  CHECK(entries->at(0).tags[0].key == "board");
  CHECK(entries->at(0).tags[0].value == "7");
  CHECK(entries->at(1).tags.empty());
}

TEST_CASE("parse_batch_list: says where a list is wrong") {
  struct Bad {
    const char* text;
    const char* message;
  };
  const Bad bad[] = {
      {"", "found no capture in the list"},
      {"# nothing\n", "found no capture in the list"},
      {"[]", "found no capture in the list"},
      {"[7]", "/0: "},
      {"{}", "expected a list of captures"},
      {R"([{"tags": {}}])", "/0: found no \"capture\""},
      {R"([{"capture": ""}])", "/0/capture: "},
      {R"([{"capture": "a", "tag": {}}])", "/0/tag: unknown key"},
      {R"([{"capture": "a", "tags": {"n": 7}}])", "/0/tags/n: "},
      {R"([{"capture": "a", "tags": []}])", "/0/tags: "},
  };
  for (const Bad& b : bad) {
    CAPTURE(b.text);
    const auto entries = parse_batch_list(b.text);
    REQUIRE_FALSE(entries);
    CHECK(entries.error().code == ErrorCode::kBadSpec);
    CAPTURE(entries.error().message);
    CHECK(entries.error().message.find(b.message) != std::string::npos);
  }
}

TEST_CASE("parse_tag: a key, and anything behind the first equals sign") {
  const auto tag = parse_tag("note=a=b");
  REQUIRE(tag);
  CHECK(tag->key == "note");
  CHECK(tag->value == "a=b");
  CHECK(parse_tag("empty=")->value.empty());
  for (const char* text : {"", "board", "=7"}) {
    CAPTURE(text);
    REQUIRE_FALSE(parse_tag(text));
    CHECK(parse_tag(text).error().code == ErrorCode::kUsage);
  }
}

TEST_CASE("expand_pattern: the files that match, in order of their names") {
  const Folder folder({"c2.csv", "c1.csv", "d.csv", "odd[1].csv"});
  const std::string here = folder.of("");
  CHECK(expand_pattern(here, "c?.csv") ==
        std::vector<std::string>{folder.of("c1.csv"), folder.of("c2.csv")});
  // A file of just that name is no pattern; what is no pattern is a path.
  CHECK(expand_pattern(here, "odd[1].csv").front() == folder.of("odd[1].csv"));
  CHECK(expand_pattern("", "none.csv").front() == "none.csv");
  CHECK(expand_pattern("", "-").front() == "-");
  // What matches nothing is left for reading it to say so.
  CHECK(expand_pattern(here, "x*").front() == folder.of("x*"));
}

TEST_CASE("expand_pattern: a folder's own name is no pattern") {
  const Folder outer({});
  std::filesystem::create_directory(outer.of("r[1]"));
  std::filesystem::create_directory(outer.of("r1"));
  outer.write("r[1]/a.csv", "");
  outer.write("r1/b.csv", "");
  CHECK(expand_pattern(outer.of("r[1]/"), "*.csv") ==
        std::vector<std::string>{outer.of("r[1]/a.csv")});
}

TEST_CASE("gather_captures: a list is beside its captures, its tags before") {
  const Folder folder({"a.csv", "b.csv"});
  folder.write("list.json",
               R"([{"capture": "?.csv", "tags": {"board": "7"}}])");
  const auto entries = gather_captures({"first.csv"}, folder.of("list.json"),
                                       {{"build", "1"}, {"board", "none"}});
  REQUIRE(entries);
  REQUIRE(entries->size() == 3);
  CHECK(entries->at(0).path == "first.csv");
  CHECK(entries->at(0).tags.at(1).value == "none");
  CHECK(entries->at(2).path == folder.of("b.csv"));
  CHECK(entries->at(2).tags.at(0).value == "1");
  CHECK(entries->at(2).tags.at(1).value == "7");
}

TEST_CASE("gather_captures: no capture counts twice") {
  const Folder folder({"a.csv"});
  const auto entries =
      gather_captures({folder.of("a.csv"), folder.of("*.csv")}, "", {});
  REQUIRE_FALSE(entries);
  CHECK(entries.error().code == ErrorCode::kUsage);
  CHECK(entries.error().path == folder.of("a.csv"));
  // By whatever path.
  std::filesystem::create_symlink(folder.of("a.csv"), folder.of("link.csv"));
  CHECK_FALSE(
      gather_captures({folder.of("a.csv"), folder.of("./a.csv")}, "", {}));
  CHECK_FALSE(
      gather_captures({folder.of("a.csv"), folder.of("link.csv")}, "", {}));
}

TEST_CASE("gather_captures: a time that is none is refused with the list") {
  const Folder folder({"a.csv"});
  folder.write("list.json",
               R"([{"capture": "a.csv", "tags": {"taken_at": "monday"}}])");
  const auto entries = gather_captures({}, folder.of("list.json"), {});
  REQUIRE_FALSE(entries);
  CHECK(entries.error().code == ErrorCode::kBadSpec);
  CHECK(entries.error().path == folder.of("list.json"));
}

}  // namespace clockassay
