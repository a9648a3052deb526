// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <pugixml.hpp>
#include <string>

namespace clockassay {

/// A document that throws std::bad_alloc where there is no memory for a part of
/// it, which would be left out without a word otherwise.
class XmlDocument : public pugi::xml_document {
 public:
  XmlDocument();
};

/// The document as text, without a declaration or blanks between its parts;
/// `more` are further flags of pugi::format_*.
std::string xml_text(const pugi::xml_document& document, unsigned more = 0);

}  // namespace clockassay
