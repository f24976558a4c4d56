#pragma once

#include <concepts>
#include <cstddef>
#include <string>
#include <string_view>

namespace evenhand::report {

/// A JSON object (RFC 8259) made as text, name after name: what is written by the hundred thousand needs no
/// tree. A name is given once, and is plain ASCII.
///
///   JsonText object;
///   object["n"] = 40;
///   object["kappa"] = 0.81;  // read back to the same double
class JsonText {
 public:
  /// Where the value of a name goes; it is given at once.
  class Place {
   public:
    explicit Place(std::string& text) : text_(text) {}
    /// Finite.
    void operator=(double number);
    void operator=(std::size_t number);
    void operator=(std::same_as<bool> auto truth) { text_ += truth ? "true" : "false"; }
    void operator=(std::nullptr_t) { text_ += "null"; }
    /// UTF-8.
    void operator=(std::string_view words);
    void operator=(const JsonText& object) { object.append_to(text_); }

   private:
    std::string& text_;
  };

  JsonText() { text_.reserve(usual_size); }
  Place operator[](std::string_view name);
  /// Adds a list: of words, or of numbers that may be absent (null).
  void list(std::string_view name, std::string_view first, std::string_view second);
  void list(std::string_view name, const double* first, const double* second);
  void append_to(std::string& text) const;

 private:
  static constexpr std::size_t usual_size = 256;
  std::string text_;  // without the braces
};

}  // namespace evenhand::report
