package web

import (
	"github.com/labstack/echo/v4"
)

// openingRoutes are the addresses from the finished terms to the posted ones,
// and what is kept and changed afterwards.
func (d *desk) openingRoutes(in *echo.Group) {
	small := body(maxEntry, typeForm)
	in.GET("/g/:id/cautions", d.getCautions)
	in.POST("/g/:id/cautions", d.postCautions, small)
	in.GET("/g/:id/rules", d.getDeskRules)
	in.GET("/g/:id/post", d.getPost)
	in.POST("/g/:id/post", d.postPost, small)
	in.GET("/g/:id/spread", d.getSpread)
	in.GET("/g/:id/qr.svg", d.getQRSVG)
	in.GET("/g/:id/qr.png", d.getQRPNG)
	in.GET("/g/:id/sheet", d.getSheet)
	in.POST("/g/:id/sheet", d.postSheet, limited(d.posts), small)
	in.GET("/g/:id/sheet.txt", d.getSheetText)
	in.POST("/g/:id/kept", d.postKept, small)
	in.GET("/g/:id/copy", d.getCopy)
	in.POST("/g/:id/copy", d.postCopy, limited(d.posts), small)
	in.GET("/g/:id/later", d.getLater)
	in.POST("/g/:id/later", d.postLater, body(maxTermsBody, typeForm))
}
