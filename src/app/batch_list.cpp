// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/batch_list.h"

#include <glob.h>

#include <algorithm>
#include <filesystem>
#include <nlohmann/json.hpp>
#include <set>
#include <utility>

#include "app/file_descriptor.h"
#include "app/input_source.h"
#include "app/taken_at.h"
#include "clockassay/base/printable.h"
#include "verdict/json_document.h"
#include "verdict/json_fields.h"

namespace clockassay {
namespace {

using nlohmann::json;

constexpr const char* kEntryHint =
    R"(write [{"capture": "board7.vcd", "tags": {"board": "7"}}])";

tl::unexpected<Error> wrong(const std::string& pointer, const json& value,
                            const char* expected) {
  return failure(
      ErrorCode::kBadSpec,
      place(pointer) + ": " + found(value) + ", expected " + expected,
      kEntryHint);
}

Result<std::vector<Tag>> tags_of(const json& value,
                                 const std::string& pointer) {
  std::vector<Tag> tags;
  if (!value.is_object()) {
    return wrong(pointer, value, "an object of keys and texts");
  }
  for (const auto& [key, content] : value.items()) {
    if (key.empty() || !content.is_string()) {
      return wrong(deeper(pointer, key), content,
                   "a key and a text, such as \"board\": \"7\"");
    }
    tags.push_back({key, content.get<std::string>()});
  }
  return tags;
}

Result<BatchEntry> entry_of(const json& value, const std::string& pointer) {
  if (!value.is_object()) return wrong(pointer, value, "an object");
  BatchEntry entry;
  for (const auto& [key, content] : value.items()) {
    const std::string here = deeper(pointer, key);
    if (key == "capture") {
      if (!content.is_string() || content.get<std::string>().empty()) {
        return wrong(here, content, "a path");
      }
      entry.path = content.get<std::string>();
    } else if (key == "tags") {
      auto tags = tags_of(content, here);
      if (!tags) return tl::unexpected(tags.error());
      entry.tags = *std::move(tags);
    } else {
      return failure(ErrorCode::kBadSpec,
                     place(here) + ": unknown key, expected capture or tags",
                     kEntryHint);
    }
  }
  if (entry.path.empty()) {
    return failure(ErrorCode::kBadSpec,
                   place(pointer) + ": found no \"capture\", expected it",
                   kEntryHint);
  }
  return entry;
}

Result<std::vector<BatchEntry>> parse_json_list(std::string_view text) {
  const auto document = read_json_document(text);
  if (!document) return tl::unexpected(document.error());
  const json& tree = *document;
  if (!tree.is_array()) return wrong("", tree, "a list of captures");
  std::vector<BatchEntry> entries;
  for (std::size_t i = 0; i < tree.size(); ++i) {
    auto entry = entry_of(tree[i], deeper("", i));
    if (!entry) return tl::unexpected(entry.error());
    entries.push_back(*std::move(entry));
  }
  return entries;
}

std::string_view trimmed(std::string_view line) {
  const std::size_t first = line.find_first_not_of(" \t\r");
  if (first == std::string_view::npos) return {};
  return line.substr(first, line.find_last_not_of(" \t\r") + 1 - first);
}

std::vector<BatchEntry> parse_plain_list(std::string_view text) {
  std::vector<BatchEntry> entries;
  while (!text.empty()) {
    const std::size_t end = std::min(text.find('\n'), text.size());
    const std::string_view line = trimmed(text.substr(0, end));
    text.remove_prefix(std::min(end + 1, text.size()));
    if (line.empty() || line.front() == '#') continue;
    entries.push_back({std::string(line), {}});
  }
  return entries;
}

bool is_pattern(const std::string& path) {
  return path.find_first_of("*?[") != std::string::npos;
}

// The folder of a list, with its "/"; empty for the one we are in.
std::string folder_of(const std::string& list) {
  const auto folder = std::filesystem::path(list).parent_path();
  return folder.empty() ? "" : folder.string() + '/';
}

// What a pattern takes for itself.
std::string escaped(const std::string& folder) {
  std::string text;
  for (const char c : folder) {
    if (std::string_view("*?[\\").find(c) != std::string_view::npos)
      text += '\\';
    text += c;
  }
  return text;
}

bool is_absolute(const std::string& path) {
  return path == "-" || path.starts_with('/');
}

Result<void> check_time(const BatchEntry& entry) {
  const std::string* stated = find_tag(entry.tags, "taken_at");
  if (stated == nullptr) return {};
  const auto time = parse_utc(*stated);
  if (time) return {};
  return failure(
      ErrorCode::kBadSpec,
      "the tag taken_at of " + entry.path + ": " + time.error().message,
      time.error().hint);
}

// One file under two paths, where both are there.
class Seen {
 public:
  bool has(const std::string& path) {
    const auto file = regular_file_identity(path);
    const bool is_new_file =
        !file || files_.insert({file->device, file->inode}).second;
    const bool is_new_path = paths_.insert(path).second;
    return !is_new_file || !is_new_path;
  }

 private:
  std::set<std::string> paths_;
  std::set<std::pair<dev_t, ino_t>> files_;
};

Result<std::vector<BatchEntry>> read_list(const std::string& path) {
  const auto text = read_short_text(path);
  if (!text) return tl::unexpected(text.error());
  auto entries = parse_batch_list(*text);
  if (!entries) {
    Error error = entries.error();
    if (error.path.empty()) error.path = path;
    return tl::unexpected(std::move(error));
  }
  for (BatchEntry& entry : *entries) {
    if (auto right = check_time(entry); !right) {
      Error error = right.error();
      error.path = path;
      return tl::unexpected(std::move(error));
    }
    if (path != "-" && !is_absolute(entry.path)) entry.folder = folder_of(path);
  }
  return entries;
}

}  // namespace

Result<std::vector<BatchEntry>> parse_batch_list(std::string_view text) {
  constexpr std::string_view kMark = "\xEF\xBB\xBF";
  if (text.starts_with(kMark)) text.remove_prefix(kMark.size());
  const std::size_t first = text.find_first_not_of(" \t\r\n");
  const bool is_json = first != std::string_view::npos &&
                       (text[first] == '[' || text[first] == '{');
  auto entries = is_json
                     ? parse_json_list(text)
                     : Result<std::vector<BatchEntry>>(parse_plain_list(text));
  if (entries && entries->empty()) {
    return failure(ErrorCode::kBadSpec,
                   "found no capture in the list, expected one or more",
                   "write a path a line");
  }
  return entries;
}

Result<Tag> parse_tag(std::string_view text) {
  const std::size_t at = text.find('=');
  if (at == 0 || at == std::string_view::npos) {
    return failure(ErrorCode::kUsage,
                   "found \"" + std::string(text) + "\", expected KEY=VALUE",
                   "such as board=7");
  }
  return Tag{std::string(text.substr(0, at)), std::string(text.substr(at + 1))};
}

void set_tag(Tag tag, std::vector<Tag>& tags) {
  const auto same =
      std::find_if(tags.begin(), tags.end(),
                   [&tag](const Tag& t) { return t.key == tag.key; });
  if (same != tags.end()) {
    same->value = std::move(tag.value);
  } else {
    tags.push_back(std::move(tag));
  }
}

std::vector<std::string> expand_pattern(const std::string& folder,
                                        const std::string& path) {
  std::error_code ignored;
  const std::string whole = folder + path;
  if (path == "-" || !is_pattern(path) ||
      std::filesystem::exists(whole, ignored)) {
    return {whole};
  }
  glob_t matches{};
  const std::string pattern = escaped(folder) + path;
  std::vector<std::string> paths;
  if (glob(pattern.c_str(), 0, nullptr, &matches) == 0) {
    paths.assign(matches.gl_pathv, matches.gl_pathv + matches.gl_pathc);
  }
  globfree(&matches);
  return paths.empty() ? std::vector<std::string>{whole} : paths;
}

Result<std::vector<BatchEntry>> gather_captures(
    const std::vector<std::string>& named, const std::string& list,
    const std::vector<Tag>& common) {
  std::vector<BatchEntry> asked;
  for (const std::string& path : named) asked.push_back({path, {}});
  if (!list.empty()) {
    auto listed = read_list(list);
    if (!listed) return tl::unexpected(listed.error());
    std::move(listed->begin(), listed->end(), std::back_inserter(asked));
  }
  std::vector<BatchEntry> entries;
  Seen seen;
  for (const BatchEntry& entry : asked) {
    for (const std::string& path : expand_pattern(entry.folder, entry.path)) {
      if (seen.has(path)) {
        Error error{ErrorCode::kUsage, "the capture is named twice",
                    "name each once, so that none counts twice"};
        error.path = path;
        return tl::unexpected(std::move(error));
      }
      entries.push_back({path, common});
      for (const Tag& tag : entry.tags) set_tag(tag, entries.back().tags);
    }
  }
  return entries;
}

}  // namespace clockassay
