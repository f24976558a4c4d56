// A file of scores is read or refused whatever stands in it; what is read can be written, read
// back as the same table, resolved every way and named by a fingerprint.

#include <cstdint>
#include <cstdlib>
#include <string>
#include <string_view>

#include "scores/read_long.hpp"
#include "scores/read_wide.hpp"
#include "scores/reading.hpp"
#include "scores/resolve.hpp"
#include "scores/write.hpp"

namespace {

using namespace evenhand;
using namespace evenhand::scores;

void require(bool holds) {
  if (!holds) std::abort();
}

void use(const ReadResult& read) {
  if (!read) {
    require(!read.error().empty());
    return;
  }
  const ScoreTable& table = read->table;
  const auto back = read_long(write_long(table, Cells::raw), "back");
  require(back.has_value());
  require(back->table == table);
  require(fingerprint(back->table) == fingerprint(table));
  write_long(table, Cells::defused);
  if (const auto wide = write_wide(table, Cells::raw))
    require(read_wide(wide->text, "wide", Wide::items).has_value());
  for (const Sittings sittings : {Sittings::first, Sittings::last, Sittings::all}) {
    const auto rounds = resolve(table, {.sittings = sittings});
    if (!rounds) continue;
    for (const Resolved& round : *rounds) {
      require(round.cells.size() == round.raters.size() * round.cases.size() * round.items.size());
      require(round.scored + round.missing == round.cells.size());
    }
  }
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view bytes(reinterpret_cast<const char*>(data), size);
  const ReadResult read = read_long(bytes, "long");
  const ReadResult general = read_any_long(bytes, "long");
  require(read ? general && read->table == general->table && read->notes == general->notes
               : !general && read.error().text() == general.error().text());
  use(read);
  use(read_wide(bytes, "items", Wide::items));
  use(read_wide(bytes, "raters", Wide::raters));
  return 0;
}
