package estimate

import "gonum.org/v1/gonum/stat/distuv"

// Student95 is the factor that widens a standard deviation with ν degrees of
// freedom to a 95 % half-width: the 0.975 quantile of Student's t (GUM G.3).
// ν below 1 counts as 1.
func Student95(nu float64) float64 {
	if nu < 1 {
		nu = 1
	}
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: nu}.Quantile(0.975)
}
