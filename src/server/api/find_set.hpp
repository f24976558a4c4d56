#pragma once

#include <optional>

#include "base/error.hpp"
#include "base/id.hpp"
#include "cases/case_set.hpp"
#include "cases/library.hpp"
#include "server/route.hpp"

namespace evenhand::server {

/// A set of the library, or one that was put together for the one who asks and is kept in
/// the store.
/// Errors: not_found  there is no such set
///         conflict   it names a case that is no longer in the library
Result<cases::CaseSet> find_set(Visit& visit, const SetId& id);

/// Reads the text of a set that was put together, against this library. Errors: conflict, as above
Result<cases::CaseSet> read_composed(const cases::Library& library, const SetId& id, const std::string& yaml);

/// The instrument of a set. The library holds no set without it.
const cases::LibraryInstrument& instrument_of(const cases::Library& library, const cases::CaseSet& set);

store::Mode mode_of(cases::Mode mode);
cases::Mode mode_of(store::Mode mode);

}  // namespace evenhand::server
