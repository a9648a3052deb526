// SPDX-License-Identifier: GPL-3.0-or-later
#include "verdict/json_document.h"

#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <set>
#include <utility>
#include <vector>

namespace clockassay {
namespace {

using nlohmann::json;

// Deepest nesting. Chosen: a specification has five levels.
constexpr std::size_t kDeepest = 16;

// The library's message without its own number and position.
std::string syntax_message(std::string_view what) {
  const std::size_t column = what.find("column ");
  if (column != std::string_view::npos) {
    const std::size_t colon = what.find(": ", column);
    if (colon != std::string_view::npos) what.remove_prefix(colon + 2);
  } else if (const std::size_t bracket = what.find("] ");
             bracket != std::string_view::npos) {
    what.remove_prefix(bracket + 2);
  }
  return std::string(what);
}

// Walks the document for what the tree cannot show any more.
class StrictWalk : public nlohmann::json_sax<json> {
 public:
  explicit StrictWalk(std::string_view text) : text_(text) {}

  std::optional<Error> take_error() { return std::move(error_); }

  bool null() override { return value(); }
  bool boolean(bool) override { return value(); }
  bool number_integer(number_integer_t) override { return value(); }
  bool number_unsigned(number_unsigned_t) override { return value(); }
  bool number_float(number_float_t, const string_t&) override {
    return value();
  }
  bool string(string_t&) override { return value(); }
  bool binary(binary_t&) override { return value(); }
  bool start_object(std::size_t) override { return open(false); }
  bool start_array(std::size_t) override { return open(true); }
  bool end_object() override { return close(); }
  bool end_array() override { return close(); }

  bool key(string_t& name) override {
    Level& level = levels_.back();
    if (!level.keys.insert(name).second) {
      return fail(place(level.pointer) + ": the key \"" + name +
                  "\" stands twice");
    }
    level.key = name;
    return true;
  }

  bool parse_error(std::size_t position, const std::string&,
                   const nlohmann::detail::exception& error) override {
    // The library counts the byte it stopped at from 1.
    const std::size_t at = position == 0 ? 0 : position - 1;
    const std::size_t byte = std::min(at, text_.size());
    const std::string_view before = text_.substr(0, byte);
    fail("not valid JSON: " + syntax_message(error.what()));
    error_->byte = static_cast<std::int64_t>(byte);
    error_->line = 1 + std::count(before.begin(), before.end(), '\n');
    return false;
  }

 private:
  struct Level {
    std::string pointer;
    bool is_array = false;
    std::size_t index = 0;
    std::string key;
    std::set<std::string> keys;
  };

  bool fail(std::string message) {
    error_ = Error{ErrorCode::kBadSpec, std::move(message)};
    return false;
  }

  std::string child_pointer() const {
    if (levels_.empty()) return "";
    const Level& level = levels_.back();
    return level.is_array ? deeper(level.pointer, level.index)
                          : deeper(level.pointer, level.key);
  }

  bool value() {
    if (!levels_.empty()) ++levels_.back().index;
    return true;
  }

  bool open(bool is_array) {
    if (levels_.size() == kDeepest) {
      return fail(place(levels_.back().pointer) + ": nested more than " +
                  std::to_string(kDeepest) + " deep");
    }
    levels_.push_back({child_pointer(), is_array, 0, {}, {}});
    return true;
  }

  bool close() {
    levels_.pop_back();
    return value();
  }

  std::string_view text_;
  std::vector<Level> levels_;
  std::optional<Error> error_;
};

}  // namespace

std::string deeper(const std::string& pointer, std::string_view key) {
  std::string result = pointer + "/";
  for (const char c : key) {
    if (c == '~') {
      result += "~0";
    } else if (c == '/') {
      result += "~1";
    } else {
      result += c;
    }
  }
  return result;
}

std::string deeper(const std::string& pointer, std::size_t index) {
  return pointer + "/" + std::to_string(index);
}

std::string place(const std::string& pointer) {
  return pointer.empty() ? "the whole document" : pointer;
}

Result<json> read_json_document(std::string_view text) {
  constexpr bool kStrict = true;    // nothing may follow the value
  constexpr bool kComments = true;  // and they are ignored
  StrictWalk walk(text);
  if (!json::sax_parse(text, &walk, json::input_format_t::json, kStrict,
                       kComments)) {
    std::optional<Error> error = walk.take_error();
    if (!error) {
      return failure(ErrorCode::kBadSpec, "not valid JSON");
    }
    return tl::unexpected<Error>(*std::move(error));
  }
  constexpr bool kExceptions = false;
  json tree = json::parse(text, nullptr, kExceptions, kComments);
  if (tree.is_discarded()) {
    return failure(ErrorCode::kBadSpec, "not valid JSON");
  }
  return tree;
}

}  // namespace clockassay
