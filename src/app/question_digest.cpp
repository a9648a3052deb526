// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/question_digest.h"

#include <boost/uuid/detail/sha1.hpp>
#include <cstdio>
#include <vector>

#include "app/input_source.h"

namespace clockassay {
namespace {

// Lengths before texts, so that no two lists of fields make one text.
void add(const std::string& field, std::string& text) {
  text += std::to_string(field.size()) + ':' + field;
}

Result<void> add_file(const std::optional<std::string>& path,
                      std::string& text) {
  if (!path) {
    add("", text);
    return {};
  }
  const auto content = read_short_text(*path);
  if (!content) return tl::unexpected(content.error());
  add(*content, text);
  return {};
}

std::string digits_of(boost::uuids::detail::sha1& hash) {
  unsigned int words[5];
  hash.get_digest(words);
  char hex[41];
  std::snprintf(hex, sizeof hex, "%08x%08x%08x%08x%08x", words[0], words[1],
                words[2], words[3], words[4]);
  return hex;
}

}  // namespace

std::string sha1_of(const std::string& text) {
  boost::uuids::detail::sha1 hash;
  hash.process_bytes(text.data(), text.size());
  return digits_of(hash);
}

std::string sha1_of_file(const std::string& path) {
  if (path == "-") return "";
  auto source = InputSource::open(path);
  if (!source || !source->is_file()) return "";
  boost::uuids::detail::sha1 hash;
  std::vector<char> buffer(std::size_t{1} << 18);
  for (;;) {
    const auto got = source->read(buffer);
    if (!got) return "";
    if (*got == 0) return digits_of(hash);
    hash.process_bytes(buffer.data(), *got);
  }
}

Result<std::string> digest_of_question(const CommandLine& line) {
  std::string text;
  for (const auto& file : {line.verify.spec, line.reading.instrument}) {
    if (auto added = add_file(file, text); !added) {
      return tl::unexpected(added.error());
    }
  }
  for (const std::string& option : line.reading.as_given) add(option, text);
  return sha1_of(text);
}

}  // namespace clockassay
