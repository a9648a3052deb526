// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/xml_text.h"

#include <cstdlib>
#include <new>

namespace clockassay {
namespace {

void* memory_or_throw(std::size_t size) {
  void* const memory = std::malloc(size);  // NOLINT: as pugixml does
  if (memory == nullptr) throw std::bad_alloc();
  return memory;
}

void give_back(void* memory) {
  std::free(memory);  // NOLINT: as pugixml does
}

// A stream would keep quiet about memory that runs out.
struct StringWriter : pugi::xml_writer {
  std::string text;
  void write(const void* data, std::size_t size) override {
    text.append(static_cast<const char*>(data), size);
  }
};

}  // namespace

XmlDocument::XmlDocument() {
  // Once, for all documents of the program.
  static const bool is_set = [] {
    pugi::set_memory_management_functions(memory_or_throw, give_back);
    return true;
  }();
  (void)is_set;
}

std::string xml_text(const pugi::xml_document& document, unsigned more) {
  StringWriter writer;
  document.save(writer, "",
                pugi::format_raw | pugi::format_no_declaration | more);
  return std::move(writer.text);
}

}  // namespace clockassay
