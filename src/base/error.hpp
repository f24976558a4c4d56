#pragma once

#include <string>
#include <utility>

#include <fmt/core.h>
#include <tl/expected.hpp>

namespace evenhand::base {

/// What a caller can do about an error. Add one only when a caller would act differently.
enum class Errc {
  invalid,    ///< the input is at fault; the message says what would be right
  undefined,  ///< a statistic has no value here; the message says why, in words
  not_found,  ///< what was named does not exist
  conflict,   ///< it clashes with something that stands already
};

struct Error {
  Errc code;
  std::string message;  ///< one sentence that names the culprit

  friend bool operator==(const Error&, const Error&) = default;
};

template <class T>
using Result = tl::expected<T, Error>;

/// The failed half of a Result: `return fail(Errc::invalid, "row {}: ...", row);`
template <class... Args>
tl::unexpected<Error> fail(Errc code, fmt::format_string<Args...> text, Args&&... args) {
  return tl::unexpected<Error>(Error{code, fmt::format(text, std::forward<Args>(args)...)});
}

}  // namespace evenhand::base

namespace evenhand {
using base::Errc;
using base::Error;
using base::fail;
using base::Result;
}  // namespace evenhand
