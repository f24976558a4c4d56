#include "agreement/gwet.hpp"

namespace evenhand::agreement {

ChanceCorrected gwet(const CategoryCounts& counts, const AgreementWeights& weights, double confidence) {
  return chance_corrected(counts, weights, Chance::gwet, confidence);
}

ChanceCorrected gwet(const CrossTable& table, const AgreementWeights& weights, double confidence,
                     std::span<const std::size_t> alone) {
  return chance_corrected(table, alone, weights, Chance::gwet, confidence);
}

Value pairwise_agreement(const CategoryCounts& counts, const AgreementWeights& weights) {
  return observed_agreement(counts, weights);
}

}  // namespace evenhand::agreement
