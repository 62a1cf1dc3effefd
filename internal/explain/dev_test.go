package explain
import ("testing";"os";"strings")
func TestDev(t *testing.T){
 in := "position,hours_since_full_wind,chronograph,rate_s_per_day,beat_error_ms,amplitude_deg,rate_u95,stage\nCH,0,off,+14.2,1.2,283,0.4,as found\nFH,0,off,9.3,1.2,278,0.4,as found\n12H,0,off,44,1.3,251,0.4,as found\n3H,0,off,-26.4,1.1,249,0.4,as found\n6H,0,off,-9.1,1.2,252,0.4,as found\n9H,0,off,62.6,1.2,,0.4,as found\nCH,24,off,10,1.2,250,0.4,as found\nFH,24,off,4,1.2,244,.4,as found\nCH,0,on,13,1.2,260,0.4,as found\n"
 if err:=Run(os.Stdout, strings.NewReader(in), Options{Name:"x.csv"}); err!=nil{t.Fatal(err)}
 if err:=Run(os.Stdout, strings.NewReader(in), Options{Name:"x.csv",JSON:true}); err!=nil{t.Fatal(err)}
}
